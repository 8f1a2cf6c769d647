package sim

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"

	"injtab/fit/unit"
)

// setup writes the lines that hold for the whole file and returns how many.
func (s *Session) setup(w *bytes.Buffer, more ...string) int {
	b := s.Plan.Bench
	lines := append([]string{
		"title = " + s.Plan.Title,
		"fluid = n-heptane",
		"division_ml = " + short(b.Division.Ml()),
		"vessel_tolerance_ml = " + short(b.VesselLimit.Ml()),
		"pressure_uncertainty_pct = " + short(b.PressureLimit.Pct()),
		"voltage_uncertainty_pct = " + short(b.VoltageLimit.Pct()),
		"timer_uncertainty_us = " + short(1e3*b.TimerLimit.Ms()),
		fmt.Sprintf("driver = saturated, clamp %s V", short(s.Design.Clamp)),
		"clamp_v = " + short(s.Design.Clamp),
	}, more...)
	for _, line := range lines {
		fmt.Fprintf(w, "# %s\n", line)
	}
	return len(lines)
}

// writeLong writes one reading a line.
func (s *Session) writeLong() {
	var buf bytes.Buffer
	line := s.setup(&buf) + 1
	w := csv.NewWriter(&buf)
	put(w, "run", "slot", "vessel", "injector", "pressure_kpa", "voltage_v", "pulse_ms", "period_ms", "shots", "volume_ml")
	for i := range s.Rows {
		r := &s.Rows[i]
		line++
		r.Line, r.Column = line, "volume_ml"
		slot := strconv.Itoa(r.Slot)
		put(w, append([]string{strconv.Itoa(r.Run), slot, slot, r.Injector}, append(r.Point.cells(), count(r.Shots), s.Plan.Bench.text(r.Volume))...)...)
	}
	w.Flush()
	s.CSV = buf.Bytes()
}

// writeWide writes one point a line and an injector a column.
func (s *Session) writeWide() {
	var buf bytes.Buffer
	line := s.setup(&buf, "reading = volume_ml") + 1
	w := csv.NewWriter(&buf)
	put(w, append([]string{"pressure_kpa", "voltage_v", "pulse_ms", "period_ms", "shots"}, s.Plan.IDs...)...)
	for _, at := range s.points() {
		line++
		cells := at.cells()
		volumes := map[string]string{}
		for i := range s.Rows {
			if r := &s.Rows[i]; r.Point == at {
				r.Line, r.Column = line, r.Injector
				volumes[r.Injector] = s.Plan.Bench.text(r.Volume)
				cells = append(cells[:4], count(r.Shots))
			}
		}
		for _, id := range s.Plan.IDs {
			cells = append(cells, volumes[id])
		}
		put(w, cells...)
	}
	w.Flush()
	s.CSV = buf.Bytes()
}

// points lists the session's points in the order in which they were first run.
func (s *Session) points() []Point {
	var list []Point
	seen := map[Point]bool{}
	for _, r := range s.Rows {
		if !seen[r.Point] {
			seen[r.Point] = true
			list = append(list, r.Point)
		}
	}
	return list
}

func (p Point) cells() []string {
	return []string{short(p.Pressure.KPa()), short(p.Voltage.V()), short(p.Pulse.Ms()), short(p.Period.Ms())}
}

// text is a volume in ml as read off a vessel, with no more digits than it shows.
func (b Bench) text(v unit.Volume) string {
	digits := max(0, int(math.Ceil(-math.Log10(b.Division.Ml())-1e-9)))
	return strconv.FormatFloat(v.Ml(), 'f', digits, 64)
}

func short(x float64) string { return strconv.FormatFloat(x, 'g', 6, 64) }
func count(n float64) string { return strconv.FormatFloat(n, 'f', 0, 64) }

// put writes a line into memory, which can't fail.
func put(w *csv.Writer, cells ...string) { _ = w.Write(cells) }

package sim

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"slices"
	"strconv"

	"injtab/fit/unit"
)

// write writes the file and notes in every row where it stands.
func (s *Session) write() {
	var buf bytes.Buffer
	s.head(&buf)
	if s.Plan.Wide {
		s.wide(&buf)
	} else {
		s.long(&buf)
	}
	s.CSV = buf.Bytes()
}

// head writes the lines that hold for the whole file.
func (s *Session) head(w *bytes.Buffer) {
	b := s.Plan.Bench
	for _, remark := range s.Plan.Remarks {
		fmt.Fprintf(w, "# %s\n", remark)
	}
	set := func(key, value string) { fmt.Fprintf(w, "# %s = %s\n", key, value) }
	set("title", s.Plan.Title)
	set("fluid", "n-heptane")
	set("temp_c", short(RoomTemp.C()))
	set("rated_pressure_kpa", "300")
	set("division_ml", short(b.Division.Ml()))
	set("vessel_tolerance_ml", short(b.VesselLimit.Ml()))
	set("pressure_uncertainty_pct", short(b.PressureLimit.Pct()))
	set("voltage_uncertainty_pct", short(b.VoltageLimit.Pct()))
	set("timer_uncertainty_us", short(1e3*b.TimerLimit.Ms()))
	set("driver", fmt.Sprintf("saturated, switched off into a clamp of %s V", short(s.Design.Clamp)))
	set("clamp_v", short(s.Design.Clamp))
	if s.Plan.Wide {
		set("reading", "volume_ml")
	}
}

// nextLine is the number of the line that will be written next.
func nextLine(w *bytes.Buffer) int { return bytes.Count(w.Bytes(), []byte("\n")) + 1 }

// long writes one reading a line.
func (s *Session) long(buf *bytes.Buffer) {
	const amount = "volume_ml"
	line := nextLine(buf)
	w := csv.NewWriter(buf)
	columns := s.columns(amount)
	cells := make([]string, len(columns))
	for i, c := range columns {
		cells[i] = c.header
	}
	put(w, cells)
	for i := range s.Rows {
		r := &s.Rows[i]
		line++
		r.Line, r.Column = line, amount
		for j, c := range columns {
			cells[j] = c.cell(r)
		}
		put(w, cells)
	}
	w.Flush()
}

// A column is one of a long file.
type column struct {
	header string
	cell   func(*Row) string
}

func (s *Session) columns(amount string) []column {
	list := []column{
		{"run", func(r *Row) string { return strconv.Itoa(r.Run) }},
		{"slot", func(r *Row) string { return strconv.Itoa(r.Slot) }},
		{"vessel", func(r *Row) string { return strconv.Itoa(r.Slot) }},
		{"injector", func(r *Row) string { return r.Injector }},
		{"pressure_kpa", func(r *Row) string { return short(r.Point.Pressure.KPa()) }},
		{"voltage_v", func(r *Row) string { return short(r.Point.Voltage.V()) }},
		{"pulse_ms", func(r *Row) string { return short(r.Point.Pulse.Ms()) }},
		{"period_ms", func(r *Row) string { return short(r.Point.Period.Ms()) }},
		{"shots", func(r *Row) string { return count(r.Shots) }},
		{amount, func(r *Row) string { return s.Plan.Bench.text(r.Volume) }},
	}
	if s.Plan.Timed {
		list[8] = column{"duration_s", func(r *Row) string { return short(r.Shots * float64(r.Point.Period)) }}
	}
	if len(s.Plan.Notes) > 0 {
		list = append(list, column{"note", s.note})
	}
	return list
}

// note is what the plan notes of the row's injector, where it first appears.
func (s *Session) note(r *Row) string {
	first := slices.IndexFunc(s.Rows, func(q Row) bool { return q.Injector == r.Injector })
	if r != &s.Rows[first] {
		return ""
	}
	return s.Plan.Notes[r.Injector]
}

// wide writes one point a line and an injector a column.
func (s *Session) wide(buf *bytes.Buffer) {
	line := nextLine(buf)
	w := csv.NewWriter(buf)
	put(w, append([]string{"pressure_kpa", "voltage_v", "pulse_ms", "period_ms", "shots"}, s.Plan.IDs...))
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
		put(w, cells)
	}
	w.Flush()
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
func put(w *csv.Writer, cells []string) { _ = w.Write(cells) }

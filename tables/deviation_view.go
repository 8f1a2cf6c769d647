package tables

import (
	"math"
	"slices"
	"strings"

	"injtab/fit/bench"
)

// shared is the deviation, for a screen, at the points where at least half of the
// injectors were measured: at others they can't be compared. Intervals are left to the file.
func shared(c *bench.Checked) (Table, bool) {
	var points []int
	for p, n := range measuredAt(c) {
		if n >= 2 && 2*n >= len(c.Injectors()) {
			points = append(points, p)
		}
	}
	t := deviationAt(c, points)
	t.About = "Delivered fuel of each injector in per cent from the mean of the sound ones, at the points where at least half of them were measured."
	pressure := commonPressure(t)
	if pressure != "" {
		t.About += " All at" + pressure + "."
	}
	for i := range t.Cols[1:] {
		col := &t.Cols[1+i]
		col.Unit, col.Title = "", strings.Replace(col.Title, pressure, "", 1)
	}
	for _, row := range t.Cells {
		for i := range row {
			row[i].CI95 = 0
		}
	}
	return t, len(points) > 0
}

// measuredAt is how many injectors have a deviation at each point.
func measuredAt(c *bench.Checked) []int {
	measured := make([]int, len(c.Points()))
	for i := range c.Injectors() {
		for p := range c.Repeats(i) { // an archive has far more points than an injector
			if _, ok := c.Deviation(i, p); ok {
				measured[p]++
			}
		}
	}
	return measured
}

// commonPressure is the pressure, as column titles have it, of all points of a deviation;
// "" where there are several.
func commonPressure(t Table) (pressure string) {
	for _, col := range t.Cols[1:] {
		words := strings.Fields(col.Title)
		at := slices.Index(words, "kPa")
		if at < 1 {
			return ""
		}
		p := " " + words[at-1] + " kPa"
		if pressure != "" && p != pressure {
			return ""
		}
		pressure = p
	}
	return pressure
}

// deviationChart compares the injectors at the shortest and the longest pulse at
// which most of them were measured: the long one tells of flow, the short one of
// dead time too.
func deviationChart(c bench.Checked) (Chart, bool) {
	short, long, ok := endPoints(c)
	if !ok {
		return Chart{}, false
	}
	chart := Chart{
		Name: "deviation", Title: "Deviation from the mean by injector",
		X: Scale{Title: "Injector"}, Y: Scale{Title: "Deviation", Unit: "%"},
		Alt: "Each injector's deviation from the mean of the sound ones, per cent. The long pulse tells of flow, the short one of dead time too. Dead injectors have none.",
	}
	for _, x := range c.Injectors() {
		chart.Categories = append(chart.Categories, x.ID)
	}
	points := []int{long}
	if short != long {
		points = []int{short, long}
	}
	for _, p := range points {
		s := Series{Name: PointName(c.Points()[p]), Kind: Bars}
		for i, x := range c.Injectors() {
			if pct, ok := c.Deviation(i, p); ok && x.Verdict != bench.Dead {
				s.X, s.Y = append(s.X, float64(i)), append(s.Y, pct)
			}
		}
		chart.Series = append(chart.Series, s)
	}
	return farthest(chart), true
}

// endPoints are the points of the shortest and the longest pulse among those at
// which the most injectors were measured.
func endPoints(c bench.Checked) (short, long int, ok bool) {
	measured := measuredAt(&c)
	most := 0
	lo, hi := math.Inf(1), math.Inf(-1)
	for p, x := range c.Points() {
		if x.Leak || x.Static {
			continue
		}
		n := measured[p]
		if n > most {
			most, lo, hi = n, math.Inf(1), math.Inf(-1)
		}
		if n < most || n == 0 {
			continue
		}
		if t := x.Pulse.Ms(); t < lo {
			lo, short = t, p
		}
		if t := x.Pulse.Ms(); t > hi {
			hi, long = t, p
		}
	}
	return short, long, most > 0
}

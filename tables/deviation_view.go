package tables

import (
	"math"
	"slices"
	"strings"

	"injtab/fit/bench"
)

// shared keeps the columns of the deviation table at which at least half of the
// injectors were measured, for a screen: the others can't be compared. Intervals
// are left to the file.
func shared(t Table) (Table, bool) {
	out := t
	out.About = "Delivered fuel of each injector in per cent from the mean of the sound ones, at the points where at least half of them were measured."
	out.Cols, out.Cells = t.Cols[:1:1], make([][]Cell, len(t.Cells))
	pressure := commonPressure(t)
	if pressure != "" {
		out.About += " All at" + pressure + "."
	}
	var kept []int
	for c := 1; c < len(t.Cols); c++ {
		if !isShared(t, c) {
			continue
		}
		kept = append(kept, c)
		col := t.Cols[c]
		col.Unit, col.Title = "", strings.Replace(col.Title, pressure, "", 1)
		out.Cols = append(out.Cols, col)
	}
	for i, row := range t.Cells {
		out.Cells[i] = append(make([]Cell, 0, 1+len(kept)), row[0])
		for _, c := range kept {
			cell := row[c]
			cell.CI95 = 0
			out.Cells[i] = append(out.Cells[i], cell)
		}
	}
	return out, len(out.Cols) > 1
}

// commonPressure is the pressure, as column titles have it, of all points that are
// shared; "" where there are several.
func commonPressure(t Table) (pressure string) {
	for c := 1; c < len(t.Cols); c++ {
		if !isShared(t, c) {
			continue
		}
		words := strings.Fields(t.Cols[c].Title)
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

// isShared tells whether at least half of the injectors, two at the least, were
// measured at a point.
func isShared(t Table, column int) bool {
	n := withValue(t, column)
	return n >= 2 && 2*n >= len(t.Cells)
}

func withValue(t Table, column int) (n int) {
	for _, row := range t.Cells {
		if row[column].Status.HasValue() {
			n++
		}
	}
	return n
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
	measured := make([]int, len(c.Points()))
	for i := range c.Injectors() {
		for p := range c.Repeats(i) { // an archive has far more points than an injector
			if _, ok := c.Deviation(i, p); ok {
				measured[p]++
			}
		}
	}
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

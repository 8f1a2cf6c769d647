package tables

import (
	"fmt"
	"slices"

	"injtab/fit/bench"
	"injtab/fit/diag"
)

// Deviation is the first look at a box of injectors: per cent from the mean of the
// sound ones at every point, injectors down, points across; nothing is fitted.
func Deviation(c bench.Checked) Table {
	var points []int
	for p, x := range c.Points() {
		if !x.Leak {
			points = append(points, p)
		}
	}
	return deviationAt(&c, points)
}

// deviationAt is the same at some points.
func deviationAt(c *bench.Checked, points []int) Table {
	t := Table{
		Name: "deviation", Title: "Deviation from the mean", Corner: "injector",
		About: "Delivered fuel of each injector in per cent from the mean of the sound ones, as measured. Empty: not measured.",
		Row:   Column{Name: "injector", Title: "Injector", Text: true, About: "What is written on it."},
		Cols:  []Column{{Name: "verdict", Title: "Verdict", Text: true, About: "Judgement on the injector."}},
	}
	column := make([]int, len(c.Points())) // by point; 0: none
	blank := make([]Cell, 1)
	for _, p := range points {
		column[p] = len(blank)
		blank = append(blank, Cell{Status: diag.NotMeasured})
		name := PointName(c.Points()[p])
		t.Cols = append(t.Cols, Column{Name: name, Title: name, Unit: "%", UCUM: "%", Decimals: 2,
			About: "Per cent from the mean of the sound injectors."})
	}
	for i, x := range c.Injectors() {
		t.RowText = append(t.RowText, x.ID)
		row := slices.Clone(blank)
		row[0].Text = x.Verdict.String()
		for p := range c.Repeats(i) { // an archive has far more points than an injector
			if k := column[p]; k > 0 {
				row[k] = deviationCell(c, i, p)
			}
		}
		t.Cells = append(t.Cells, row)
	}
	return t
}

func deviationCell(c *bench.Checked, i, p int) Cell {
	pct, ok := c.Deviation(i, p)
	if !ok {
		return Cell{Status: diag.NotMeasured}
	}
	m := c.Mean(i, p)
	half := 0.0
	if m.PerShot > 0 {
		half = 196 * float64(m.U) / float64(m.PerShot)
	}
	return Cell{Value: round(pct, 2), CI95: half, Basis: diag.Measured}
}

// PointName names a point as a column does: "2 ms 300 kPa 13.5 V".
func PointName(p bench.Point) string {
	what := number(p.Pulse.Ms()) + " ms"
	if p.Static {
		what = "open"
	}
	return fmt.Sprintf("%s %s kPa %s V", what, number(round(p.Pressure.KPa(), 1)), number(round(p.Voltage.V(), 2)))
}

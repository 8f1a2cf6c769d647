package export

import (
	"fmt"
	"math"

	"injtab/tables"
)

// check refuses a table whose parts don't fit together or that holds a number
// that is none. Both are mistakes of the program, told before anything is written.
func check(t tables.Table) error {
	rows := len(t.RowAt)
	if t.Row.Text {
		rows = len(t.RowText)
	}
	if rows != len(t.Cells) {
		return fmt.Errorf("table %s can't be written: it names %d rows and holds %d", t.Name, rows, len(t.Cells))
	}
	if !t.Row.Text && !finite(t.RowAt...) {
		return fmt.Errorf("table %s can't be written: a breakpoint of its rows is not a finite number", t.Name)
	}
	seen := map[string]bool{corner(t): true}
	for _, c := range t.Cols {
		if seen[c.Name] {
			return fmt.Errorf("table %s can't be written: two of its columns are called %q", t.Name, c.Name)
		}
		seen[c.Name] = true
	}
	return checkCells(t)
}

func checkCells(t tables.Table) error {
	for r, row := range t.Cells {
		if len(row) != len(t.Cols) {
			return fmt.Errorf("table %s can't be written: row %d has %d cells for %d columns", t.Name, r+1, len(row), len(t.Cols))
		}
		for c, cell := range row {
			if t.Cols[c].Text || !cell.Status.HasValue() {
				continue
			}
			if !finite(cell.Value, cell.CI95) || cell.CI95 < 0 {
				return fmt.Errorf("table %s can't be written: row %s, column %s is %v ± %v, not a finite number",
					t.Name, rowText(t, r), t.Cols[c].Name, cell.Value, cell.CI95)
			}
		}
	}
	return nil
}

// checkChart refuses series whose lengths differ or that hold no finite number.
func checkChart(c tables.Chart) error {
	for _, s := range c.Series {
		n := len(s.X)
		short := func(list []float64) bool { return list != nil && len(list) != n }
		if s.Kind == tables.Band && (s.Lo == nil || s.Hi == nil) || s.Kind != tables.Band && len(s.Y) != n ||
			short(s.Lo) || short(s.Hi) || (s.Lo == nil) != (s.Hi == nil) || s.Labels != nil && len(s.Labels) != n {
			return fmt.Errorf("chart %s can't be drawn: the lists of series %q differ in length", c.Name, s.Name)
		}
		for _, list := range [][]float64{s.X, s.Y, s.Lo, s.Hi} {
			if !finite(list...) {
				return fmt.Errorf("chart %s can't be drawn: series %q holds a value that is not a finite number", c.Name, s.Name)
			}
		}
	}
	for _, m := range c.Marks {
		if !finite(m.At) {
			return fmt.Errorf("chart %s can't be drawn: the mark %q is not at a finite number", c.Name, m.Name)
		}
	}
	return nil
}

// checkReport checks every table and chart of a report.
func checkReport(r tables.Report) error {
	for _, s := range r.Sections {
		for _, t := range s.Tables {
			if err := check(t); err != nil {
				return err
			}
		}
		for _, c := range s.Charts {
			if err := checkChart(c); err != nil {
				return err
			}
		}
	}
	return nil
}

func finite(list ...float64) bool {
	for _, x := range list {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}

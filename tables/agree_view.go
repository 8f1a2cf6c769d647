package tables

import (
	"fmt"
	"math"
)

// Disagreement compares tables with others of the same names, cell by cell, and
// says where they first differ; "" where they agree. Tables that only the first
// list has are reported as missing.
func Disagreement(ts, others []Table) string {
	by := map[string]Table{}
	for _, t := range others {
		by[t.Name] = t
	}
	for _, t := range ts {
		o, ok := by[t.Name]
		if !ok {
			return fmt.Sprintf("table %s is in one of them alone", t.Name)
		}
		if d := t.differs(o); d != "" {
			return fmt.Sprintf("table %s: %s", t.Name, d)
		}
	}
	return ""
}

func (t Table) differs(o Table) string {
	if t.Rows() != o.Rows() || len(t.Cols) != len(o.Cols) {
		return fmt.Sprintf("%d × %d cells and %d × %d", t.Rows(), len(t.Cols), o.Rows(), len(o.Cols))
	}
	for c := range t.Cols {
		if t.Cols[c].Name != o.Cols[c].Name {
			return fmt.Sprintf("columns %s and %s", t.Cols[c].Name, o.Cols[c].Name)
		}
	}
	for r := range t.Cells {
		if rowName(t, r) != rowName(o, r) {
			return fmt.Sprintf("rows %s and %s", rowName(t, r), rowName(o, r))
		}
		for c, cell := range t.Cells[r] {
			if a, b := cell.shown(), o.Cells[r][c].shown(); a != b {
				return fmt.Sprintf("row %s, column %s: %s and %s", rowName(t, r), t.Cols[c].Name, a, b)
			}
		}
	}
	return ""
}

// shown is a cell as a text to compare: digits beyond the ninth are those of a
// conversion.
func (c Cell) shown() string {
	switch {
	case c.Text != "":
		return c.Text
	case !c.Status.HasValue():
		return "empty"
	}
	return number(math.Round(c.Value*1e9) / 1e9)
}

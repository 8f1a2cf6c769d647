package export

import (
	"fmt"
	"strings"

	"injtab/fit/diag"
	"injtab/tables"
)

// marks are the letters beside a value that tell its basis without colour.
var marks = [...]string{diag.Measured: "", diag.Interpolated: "i", diag.Extrapolated: "x", diag.Assumed: "a"}

const unreliableMark = "?"

// mark is what stands beside a value: its basis, and whether to rely on it.
func mark(cell tables.Cell) string {
	m := marks[cell.Basis]
	if cell.Status == diag.Unreliable {
		m += unreliableMark
	}
	return m
}

// emptyText stands for a cell without a value, and says why there is none.
func emptyText(s diag.Status) string {
	if s == diag.DoesNotOpen {
		return "shut"
	}
	return "-"
}

// explain are the sentences for the marks that a table uses, in a fixed order.
func explain(t tables.Table) []string {
	used := map[string]bool{}
	for _, row := range t.Cells {
		for c, cell := range row {
			switch {
			case t.Cols[c].Text:
			case !cell.Status.HasValue():
				used[emptyText(cell.Status)] = true
			default:
				used[marks[cell.Basis]] = true
				if cell.Status == diag.Unreliable {
					used[unreliableMark] = true
				}
			}
		}
	}
	var list []string
	for _, m := range legend {
		if used[m[0]] {
			list = append(list, m[0]+" "+m[1])
		}
	}
	return list
}

var legend = [][2]string{
	{"i", "between readings"},
	{"x", "beyond the readings, by the fitted curve"},
	{"a", "assumed, not measured"},
	{"?", "unreliable, the injector barely opens"},
	{"shut", "does not open"},
	{"-", "not measured"},
}

// heading is a column's title with its unit: "Flow trim, %".
func heading(c tables.Column) string {
	name := c.Title
	if name == "" {
		name = c.Name
	}
	if c.Unit != "" {
		name += ", " + c.Unit
	}
	return name
}

// axes says what a grid's numbers are: "ms; down: Voltage, V; across: Pressure, kPa".
func axes(t tables.Table) string {
	if !t.Grid() {
		return ""
	}
	return fmt.Sprintf("%sdown: %s; across: %s", valueUnit(t), heading(t.Row), heading(t.Across))
}

func valueUnit(t tables.Table) string {
	if len(t.Cols) > 0 && t.Cols[0].Unit != "" {
		return "in " + t.Cols[0].Unit + "; "
	}
	return ""
}

// headings are the texts above the columns, the first column's included.
func headings(t tables.Table) []string {
	list := []string{heading(t.Row)}
	for _, c := range t.Cols {
		if t.Grid() {
			list = append(list, c.Name)
		} else {
			list = append(list, heading(c))
		}
	}
	return list
}

// intervals says how wide a grid's intervals are: "95 % intervals: ±0.009 to ±0.210 ms".
func intervals(t tables.Table) string {
	if !t.Grid() || len(t.Cols) == 0 {
		return ""
	}
	least, most := 0.0, 0.0
	for _, row := range t.Cells {
		for _, cell := range row {
			if !cell.Status.HasValue() || cell.CI95 <= 0 {
				continue
			}
			if most <= 0 || cell.CI95 < least {
				least = cell.CI95
			}
			most = max(most, cell.CI95)
		}
	}
	if most <= 0 {
		return ""
	}
	digits := t.Cols[0].Decimals + 1
	low, high := number(least, digits), number(most, digits)
	if low == high {
		return strings.TrimSpace(fmt.Sprintf("95 %% interval of every value: ±%s %s", low, t.Cols[0].Unit))
	}
	return strings.TrimSpace(fmt.Sprintf("95 %% intervals: ±%s to ±%s %s", low, high, t.Cols[0].Unit))
}

// column gives the texts of one column from top to bottom, padded so that the
// numbers stand under one another when set flush right.
func column(t tables.Table, c int) []string {
	col := t.Cols[c]
	list := make([]string, len(t.Cells))
	if col.Text {
		for r, row := range t.Cells {
			list[r] = row[c].Text
		}
		return list
	}
	wide, ci := 0, 0 // the widest mark, the widest half-width
	for _, row := range t.Cells {
		if row[c].Status.HasValue() {
			wide = max(wide, len(mark(row[c])))
			ci = max(ci, len(halfWidth(row[c], col)))
		}
	}
	if t.Grid() {
		ci = 0 // told once below the table
	}
	for r, row := range t.Cells {
		list[r] = padded(row[c], col, wide, ci)
	}
	return list
}

func padded(cell tables.Cell, col tables.Column, wide, ci int) string {
	s, m := emptyText(cell.Status), ""
	half := ""
	if cell.Status.HasValue() {
		s, m, half = number(cell.Value, col.Decimals), mark(cell), halfWidth(cell, col)
	}
	if ci > 0 {
		if half != "" {
			half = "±" + half
		}
		s += fmt.Sprintf(" %*s", ci+1, half)
	}
	if wide > 0 {
		s += fmt.Sprintf(" %-*s", wide, m)
	}
	return s
}

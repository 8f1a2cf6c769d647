package export

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
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

// explain are the sentences for the marks that a table uses, in a fixed order. A
// mark that all values have is told once instead of beside each.
func explain(t tables.Table) []string {
	if m := commonMark(t); m != "" {
		return append([]string{"Every value: " + meaningOf(m)}, legendOf(t, func(used string) bool { return used != m })...)
	}
	return legendOf(t, func(string) bool { return true })
}

func legendOf(t tables.Table, wanted func(mark string) bool) (list []string) {
	used := marksOf(t)
	for _, m := range legend {
		if used[m[0]] && wanted(m[0]) {
			list = append(list, m[0]+" "+m[1])
		}
	}
	return list
}

func meaningOf(mark string) string {
	for _, m := range legend {
		if m[0] == mark {
			return m[1]
		}
	}
	return ""
}

// marksOf are the marks that a table's cells have; "" is that of a measured value.
func marksOf(t tables.Table) map[string]bool {
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
	return used
}

// commonMark is the mark that every value of a table has, if there is one.
func commonMark(t tables.Table) (common string) {
	used := marksOf(t)
	for _, m := range marks {
		if used[m] {
			if common != "" {
				return ""
			}
			common = m
		}
	}
	if used[marks[diag.Measured]] || used[unreliableMark] {
		return ""
	}
	return common
}

var legend = [][2]string{
	{"i", "between readings"},
	{"x", "beyond the readings, by the fitted curve"},
	{"a", "worked out or assumed, not measured"},
	{"?", "unreliable, the injector barely opens"},
	{"shut", "does not open"},
	{"-", "not known"},
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
	for c, col := range t.Cols {
		if t.Grid() {
			list = append(list, acrossText(t, c))
		} else {
			list = append(list, heading(col))
		}
	}
	return list
}

// acrossText is a breakpoint above a column, with as many digits as all need.
func acrossText(t tables.Table, c int) string {
	var all []float64
	for _, col := range t.Cols {
		x, err := strconv.ParseFloat(col.Name, 64)
		if err != nil || !isNumber(col.Name) {
			return t.Cols[c].Name
		}
		all = append(all, x)
	}
	return number(all[c], axisDigits(all))
}

// axisDigits is how many digits after the point people need to tell the values of an
// axis: enough for half a thousandth of each, and none like another.
func axisDigits(all []float64) int {
	for digits := 0; digits < mostAxisDigits; digits++ {
		scale, seen, enough := math.Pow(10, float64(digits)), map[string]bool{}, true
		for _, x := range all {
			text := number(x, digits)
			enough = enough && !seen[text] && math.Abs(math.Round(x*scale)/scale-x) <= 5e-4*math.Abs(x)
			seen[text] = true
		}
		if enough {
			return digits
		}
	}
	return mostAxisDigits
}

const mostAxisDigits = 6

// rowShown is the text of the first column, without digits that no row needs.
func rowShown(t tables.Table, row int) string {
	if t.Row.Text {
		return t.RowText[row]
	}
	return number(t.RowAt[row], min(axisDigits(t.RowAt), t.Row.Decimals))
}

// digitsShown is how many digits after the point a column shows to people: no more
// than leave two digits of its narrowest interval.
func digitsShown(t tables.Table, c int) int {
	col := t.Cols[c]
	least := 0.0
	for _, row := range t.Cells {
		for k, cell := range row {
			if (k == c || t.Grid()) && cell.Status.HasValue() && cell.CI95 > 0 && (least <= 0 || cell.CI95 < least) {
				least = cell.CI95
			}
		}
	}
	if least <= 0 {
		return col.Decimals
	}
	return min(col.Decimals, max(1-int(math.Floor(math.Log10(least))), 0))
}

// halfShown is the half-width of an interval as people see it beside a value: with
// the value's digits, and never none.
func halfShown(cell tables.Cell, col tables.Column, digits int) string {
	if col.Text || !cell.Status.HasValue() || cell.CI95 <= 0 {
		return ""
	}
	scale := math.Pow(10, float64(digits))
	return number(max(math.Round(cell.CI95*scale), 1)/scale, digits)
}

// intervals says how wide a grid's intervals are: "95 % intervals: ±0.009 to ±0.210 ms".
func intervals(t tables.Table) []string {
	if !t.Grid() || len(t.Cols) == 0 {
		return nil
	}
	least, most := tables.Cell{}, tables.Cell{}
	for _, row := range t.Cells {
		for _, cell := range row {
			if !cell.Status.HasValue() || cell.CI95 <= 0 {
				continue
			}
			if most.CI95 <= 0 || cell.CI95 < least.CI95 {
				least = cell
			}
			if cell.CI95 > most.CI95 {
				most = cell
			}
		}
	}
	if most.CI95 <= 0 {
		return nil
	}
	digits := digitsShown(t, 0)
	low, high := halfShown(least, t.Cols[0], digits), halfShown(most, t.Cols[0], digits)
	if low == high {
		return []string{strings.TrimSpace(fmt.Sprintf("95 %% interval of every value: ±%s %s", low, t.Cols[0].Unit))}
	}
	return []string{strings.TrimSpace(fmt.Sprintf("95 %% intervals: ±%s to ±%s %s", low, high, t.Cols[0].Unit))}
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
	f := cellForm{col: col, digits: digitsShown(t, c), plain: commonMark(t) != ""}
	for _, row := range t.Cells {
		if row[c].Status.HasValue() {
			f.mark = max(f.mark, len(f.markOf(row[c])))
			f.half = max(f.half, len(halfShown(row[c], col, f.digits)))
		}
	}
	if t.Grid() {
		f.half = 0 // told once below the table
	}
	for r, row := range t.Cells {
		list[r] = f.text(row[c])
	}
	return list
}

// A cellForm is how the cells of one column are set.
type cellForm struct {
	col        tables.Column
	digits     int
	plain      bool // without marks
	mark, half int  // room for the widest mark and half-width
}

func (f cellForm) markOf(cell tables.Cell) string {
	if f.plain {
		return ""
	}
	return mark(cell)
}

func (f cellForm) text(cell tables.Cell) string {
	s, m, half := emptyText(cell.Status), "", ""
	if cell.Status.HasValue() {
		s, m, half = number(cell.Value, f.digits), f.markOf(cell), halfShown(cell, f.col, f.digits)
	}
	if f.half > 0 {
		if half != "" {
			half = "±" + half
		}
		s += fmt.Sprintf(" %*s", f.half+1, half)
	}
	if f.mark > 0 {
		s += fmt.Sprintf(" %-*s", f.mark, m)
	}
	return s
}

// flushRight tells whether a column of texts holds numbers, alike in their unit if
// they have one, that are best set flush right.
func flushRight(texts []string) bool {
	unit, any := "", false
	for _, s := range texts {
		if s == "" || s == "-" {
			continue
		}
		m := numberWithUnit.FindStringSubmatch(s)
		if m == nil || any && m[1] != unit {
			return false
		}
		unit, any = m[1], true
	}
	return any
}

var numberWithUnit = regexp.MustCompile(`^[+-]?\d+(?:\.\d+)?((?: [^ ]+)?)$`)

package export

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"injtab/fit/diag"
	"injtab/tables"
)

// Lookup gives the entries that look a grid up at the values of two entries, the
// last of which, called name, has the result: linear between breakpoints, the last
// value outside, and an error value where a cell that it needs is empty. LookupList
// is for lists.
func Lookup(name, label string, t tables.Table, row, across string) []Entry {
	grid := cellName(t.Name)
	r, c := name+"_row", name+"_column"
	at := make([]float64, len(t.Cols))
	for i, col := range t.Cols {
		at[i] = col.At
	}
	entries := append(axisSteps(r, t.Row, grid+"_rows", row, t.RowAt), axisSteps(c, t.Across, grid+"_columns", across, at)...)
	cell := func(r, c string) string { return fmt.Sprintf("INDEX(%s_values,%s,%s)", grid, r, c) }
	formula := fmt.Sprintf("IF(COUNT(%[1]s)+COUNT(%[2]s)+COUNT(%[3]s)+COUNT(%[4]s)<4,NA(),(1-%[5]s)*((1-%[6]s)*%[1]s+%[6]s*%[2]s)+%[5]s*((1-%[6]s)*%[3]s+%[6]s*%[4]s))",
		cell(r, c), cell(r, c+"_next"), cell(r+"_next", c), cell(r+"_next", c+"_next"), r+"_part", c+"_part")
	value := func(known map[string]Entry) float64 {
		r0, r1, rf := step(known, r)
		c0, c1, cf := step(known, c)
		return (1-rf)*((1-cf)*shownValue(t, r0, c0)+cf*shownValue(t, r0, c1)) + rf*((1-cf)*shownValue(t, r1, c0)+cf*shownValue(t, r1, c1))
	}
	return append(entries, result(name, label, t.Cols[0], formula, value))
}

// LookupList gives the entries that look a column of a list up at the value of an
// entry, in the manner of Lookup.
func LookupList(name, label string, t tables.Table, column int, row string) []Entry {
	values, r := ColumnName(t, t.Cols[column]), name+"_row"
	cell := func(r string) string { return fmt.Sprintf("INDEX(%s,%s)", values, r) }
	formula := fmt.Sprintf("IF(COUNT(%[1]s)+COUNT(%[2]s)<2,NA(),(1-%[3]s)*%[1]s+%[3]s*%[2]s)", cell(r), cell(r+"_next"), r+"_part")
	value := func(known map[string]Entry) float64 {
		r0, r1, rf := step(known, r)
		return (1-rf)*shownValue(t, r0, column) + rf*shownValue(t, r1, column)
	}
	return append(axisSteps(r, t.Row, cellName(t.Name)+"_rows", row, t.RowAt), result(name, label, t.Cols[column], formula, value))
}

// LookupText gives the entry that finds the number of one column in the row whose
// text in another equals the entry wanted; key -1 is the first column.
func LookupText(name, label string, t tables.Table, column, key int, wanted string) Entry {
	keys, text := cellName(t.Name)+"_rows", func(r int) string { return rowText(t, r) }
	if key >= 0 {
		keys, text = ColumnName(t, t.Cols[key]), func(r int) string { return cellText(t, r, key) }
	}
	found := fmt.Sprintf("INDEX(%s,MATCH(%s,%s,0))", ColumnName(t, t.Cols[column]), wanted, keys)
	value := func(known map[string]Entry) float64 {
		for r := range t.Cells {
			if text(r) == known[wanted].Text {
				return shownValue(t, r, column)
			}
		}
		return math.NaN()
	}
	return result(name, label, t.Cols[column], fmt.Sprintf("IF(COUNT(%[1]s)<1,NA(),%[1]s)", found), value)
}

// LookupBasis gives the entry that says the worst of what the cells rest on that
// the look-up called looked reads: assumed, extrapolated, unreliable, or readings.
// column is that of a list.
func LookupBasis(name, label string, t tables.Table, column int, looked string) Entry {
	r, c := looked+"_row", looked+"_column"
	cells := fmt.Sprintf("INDEX(%[1]s,%[2]s):INDEX(%[1]s,%[2]s_next)", ColumnName(t, t.Cols[column])+restsOn, r)
	if t.Grid() {
		cells = fmt.Sprintf("INDEX(%[1]s,%[2]s,%[3]s):INDEX(%[1]s,%[2]s_next,%[3]s_next)", cellName(t.Name)+restsOn, r, c)
	}
	formula := `"readings"`
	for _, worse := range slices.Backward(weakest) {
		formula = fmt.Sprintf(`IF(COUNTIF(%s,"*%s*")>0,"%s",%s)`, cells, worse, worse, formula)
	}
	says := func(known map[string]Entry) string {
		r0, r1, _ := step(known, r)
		c0, c1 := column, column
		if t.Grid() {
			c0, c1, _ = step(known, c)
		}
		read := basisText(t.Cells[r0][c0]) + basisText(t.Cells[r0][c1]) + basisText(t.Cells[r1][c0]) + basisText(t.Cells[r1][c1])
		for _, worse := range weakest {
			if strings.Contains(read, worse) {
				return worse
			}
		}
		return "readings"
	}
	return Entry{Label: label, Name: name, Formula: formula, Says: says, Step: true}
}

// weakest are the words of basisText that a user must be told of, the worst first.
var weakest = []string{diag.Assumed.String(), diag.Extrapolated.String(), "unreliable"}

// OrZero makes a result that may have no value zero there.
func (e Entry) OrZero() Entry {
	value := e.Value
	e.Formula = fmt.Sprintf("IFERROR(%s,0)", e.Formula)
	e.Value = func(known map[string]Entry) float64 {
		if x := value(known); !math.IsNaN(x) {
			return x
		}
		return 0
	}
	return e
}

func result(name, label string, c tables.Column, formula string, value func(map[string]Entry) float64) Entry {
	return Entry{Label: label, Name: name, Unit: c.Unit, Decimals: c.Decimals + 1, Formula: formula, Value: value}
}

// shownValue is a cell's value with the digits that the sheet has; NaN if empty.
func shownValue(t tables.Table, r, c int) float64 {
	x, _, ok := sheet{}.number(cellText(t, r, c))
	if !ok {
		return math.NaN()
	}
	return x
}

// axisSteps holds an input within the breakpoints and finds those on either side
// of it, counted from 1, and how far it is from the first to the second.
func axisSteps(name string, axis tables.Column, points, input string, at []float64) []Entry {
	what := axis.Title
	if what == "" {
		what = axis.Name
	}
	held := name + "_held"
	return []Entry{
		{Label: what + " within the table", Name: held, Unit: axis.Unit, Step: true, Decimals: axis.Decimals + 2,
			Formula: fmt.Sprintf("MAX(MIN(%s,MAX(%s)),MIN(%s))", input, points, points),
			Value: func(known map[string]Entry) float64 {
				return math.Max(math.Min(known[input].Number, at[len(at)-1]), at[0])
			}},
		{Label: "breakpoint at or below", Name: name, Step: true,
			Formula: fmt.Sprintf("MATCH(%s,%s,1)", held, points),
			Value: func(known map[string]Entry) float64 {
				n := 1
				for n < len(at) && at[n] <= known[held].Number {
					n++
				}
				return float64(n)
			}},
		{Label: "breakpoint above", Name: name + "_next", Step: true,
			Formula: fmt.Sprintf("IF(%s>INDEX(%s,%s),%s+1,%s)", held, points, name, name, name),
			Value: func(known map[string]Entry) float64 {
				n := known[name].Number
				if known[held].Number > at[int(n)-1] {
					n++
				}
				return n
			}},
		{Label: "part of the way", Name: name + "_part", Step: true, Decimals: 4,
			Formula: fmt.Sprintf("IF(%[1]s_next>%[1]s,(%[2]s-INDEX(%[3]s,%[1]s))/(INDEX(%[3]s,%[1]s_next)-INDEX(%[3]s,%[1]s)),0)", name, held, points),
			Value: func(known map[string]Entry) float64 {
				low, high := int(known[name].Number), int(known[name+"_next"].Number)
				if high <= low {
					return 0
				}
				return (known[held].Number - at[low-1]) / (at[high-1] - at[low-1])
			}},
	}
}

// step reads back, counted from 0, what axisSteps found.
func step(known map[string]Entry, name string) (low, high int, part float64) {
	return int(known[name].Number) - 1, int(known[name+"_next"].Number) - 1, known[name+"_part"].Number
}

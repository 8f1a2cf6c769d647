package export

import (
	"slices"

	"github.com/xuri/excelize/v2"

	"injtab/fit/diag"
	"injtab/tables"
)

// A companion is a block that says something else of each number.
type companion struct {
	title string
	name  string // end of the defined names of its cells
	words bool   // it says it in words, flush left
	has   func(t tables.Table) bool
	text  func(cell tables.Cell, c tables.Column) string
}

var companions = []companion{
	{"95 % half-width", "_half_width", false, hasIntervals, halfWidth},
	{"Rests on", restsOn, true, hasNumbers, func(cell tables.Cell, _ tables.Column) string { return basisText(cell) }},
}

// restsOn ends the defined names of the cells that say what others rest on.
const restsOn = "_rests_on"

func hasIntervals(t tables.Table) bool {
	for _, row := range t.Cells {
		for c, cell := range row {
			if halfWidth(cell, t.Cols[c]) != "" {
				return true
			}
		}
	}
	return false
}

func hasNumbers(t tables.Table) bool {
	return slices.ContainsFunc(t.Cols, func(c tables.Column) bool { return !c.Text })
}

// companion writes a block of the table's shape that says something else of each
// number; text columns have nothing to say and are left out.
func (b *book) companion(sheet string, t tables.Table, first int, say companion) []float64 {
	b.text(sheet, first, bandRow, say.title, b.made("band", excelize.Style{Font: &excelize.Font{Bold: true, Color: ink}}))
	b.text(sheet, first, headRow, t.Row.Name, b.headStyle(t.Row.Text))
	widths := []float64{fitted(t.Row.Name)}
	for r := range t.Cells {
		b.rowHead(sheet, first, firstRow+r, t, r)
		widths[0] = max(widths[0], fitted(rowText(t, r)))
	}
	for c, col := range t.Cols {
		if col.Text {
			continue
		}
		at := first + len(widths)
		b.columnHead(sheet, at, t, c, say.words)
		widths = append(widths, max(headWidth(t, c), b.companionColumn(sheet, t, c, at, say)))
		if !t.Grid() && len(t.Cells) > 0 {
			b.define(ColumnName(t, col)+say.name, sheet, at, firstRow, at, firstRow+len(t.Cells)-1)
		}
	}
	if t.Grid() && len(t.Cells) > 0 {
		b.define(cellName(t.Name)+say.name, sheet, first+1, firstRow, first+len(t.Cols), firstRow+len(t.Cells)-1)
	}
	return widths
}

// companionColumn writes what is said of one column and gives the width that it needs.
func (b *book) companionColumn(sheet string, t tables.Table, c, at int, say companion) (wide float64) {
	last, indent := "", ""
	for r, row := range t.Cells {
		s := say.text(row[c], t.Cols[c])
		if say.words {
			b.text(sheet, at, firstRow+r, s, b.textStyle())
			indent = " "
		} else {
			b.numberText(sheet, at, firstRow+r, s, b.plainNumber(t.Cols[c].Decimals+1))
		}
		if r == 0 || s != last { // most are like the one above
			wide, last = max(wide, fitted(s+indent)), s
		}
	}
	return wide
}

// basisText says what a number rests on, or why there is none.
func basisText(cell tables.Cell) string {
	switch cell.Status {
	case diag.Unreliable:
		return cell.Basis.String() + ", unreliable"
	case diag.DoesNotOpen:
		return "does not open"
	case diag.NotMeasured:
		return "not measured"
	}
	return cell.Basis.String()
}

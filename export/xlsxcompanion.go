package export

import (
	"slices"

	"github.com/xuri/excelize/v2"

	"injtab/fit/diag"
	"injtab/tables"
)

// A companion is a block that says something else of each number: cell writes it
// and gives its text.
type companion struct {
	title string
	name  string // end of the defined names of its cells
	left  bool   // headers flush left
	has   func(t tables.Table) bool
	cell  func(b *book, sheet string, col, row int, cell tables.Cell, c tables.Column) string
}

var companions = []companion{{"95 % half-width", "_half_width", false, hasIntervals, halfWidths}, {"Rests on", restsOn, true, hasNumbers, bases}}

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
		b.columnHead(sheet, at, t, c, say.left)
		wide := headWidth(t, c)
		for r, row := range t.Cells {
			wide = max(wide, fitted(say.cell(b, sheet, at, firstRow+r, row[c], col)))
		}
		widths = append(widths, wide)
		if !t.Grid() && len(t.Cells) > 0 {
			b.define(ColumnName(t, col)+say.name, sheet, at, firstRow, at, firstRow+len(t.Cells)-1)
		}
	}
	if t.Grid() && len(t.Cells) > 0 {
		b.define(cellName(t.Name)+say.name, sheet, first+1, firstRow, first+len(t.Cols), firstRow+len(t.Cells)-1)
	}
	return widths
}

func halfWidths(b *book, sheet string, col, row int, cell tables.Cell, c tables.Column) string {
	s := halfWidth(cell, c)
	b.numberText(sheet, col, row, s, b.plainNumber(c.Decimals+1))
	return s
}

func bases(b *book, sheet string, col, row int, cell tables.Cell, _ tables.Column) string {
	s := basisText(cell)
	b.text(sheet, col, row, s, b.textStyle())
	return s + " "
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

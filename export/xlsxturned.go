package export

import (
	"fmt"
	"math"

	"github.com/xuri/excelize/v2"

	"injtab/tables"
)

// uprightWide is how many characters in a row are legible on an upright page whose
// rows are set as small as those of a table on a page of its own.
const uprightWide = 170.0

// turns tells whether a list is better printed turned: too wide for a page, with more
// columns than rows.
func turns(t tables.Table, values float64) bool {
	return !t.Grid() && t.Row.Text && len(t.Cols) > len(t.Cells) && values > pageWide
}

// turned writes a list once more with columns down and rows across, for the printer,
// each cell a reference to the one that it repeats. It gives the row below and how many
// pages side by side it takes.
func (b *book) turned(sheet string, t tables.Table, row int, widths []float64) (end, pages int) {
	b.text(sheet, 1, row, "By point", b.boldStyle())
	head := row + 1
	b.rowHeight(sheet, head, 18)
	b.text(sheet, 1, head, "", b.headStyle(true))
	for r := range t.Cells {
		b.repeat(sheet, r+2, head, cellRef(sheet, 1, firstRow+r), rowText(t, r), b.headStyle(false))
	}
	for c, col := range t.Cols {
		b.text(sheet, 1, head+1+c, col.Name, b.textStyle())
		for r, cells := range t.Cells {
			style := b.turnedText()
			if !col.Text {
				style = b.valueStyle(col.Decimals, cells[c].Basis, cells[c].Status)
			}
			b.repeat(sheet, r+2, head+1+c, cellRef(sheet, c+2, firstRow+r), cellText(t, r, c), style)
		}
	}
	wide := total(widths[:min(len(widths), len(t.Cells)+1)])
	return head + len(t.Cols), int(math.Ceil(wide / uprightWide))
}

func (b *book) turnedText() int {
	return b.made("turned", excelize.Style{NumFmt: 49, Alignment: &excelize.Alignment{Horizontal: "right", Vertical: "center"}, Border: frame(7, grey)})
}

// repeat writes a cell that shows another one.
func (b *book) repeat(sheet string, col, row int, of, text string, style int) {
	formula := fmt.Sprintf(`IF(%[1]s="","",%[1]s)`, of)
	b.formulaText(sheet, col, row, formula, clean(text), style)
}

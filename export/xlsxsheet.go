package export

import (
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"injtab/fit/diag"
	"injtab/tables"
)

// Every table stands in the same rows of its sheet, so that a formula or a habit
// that fits one fits all.
const (
	titleRow = 1
	axesRow  = 2
	bandRow  = 3
	headRow  = 4
	firstRow = 5
)

// The size of a chart in pixels and in rows.
const chartWide, chartHigh, chartRows = 780, 400, 22

// tableSheet lays out one table: values at the left, what they rest on beside
// them, legend, texts and chart below.
func (b *book) tableSheet(sheet, report string, t tables.Table) {
	last := firstRow + max(len(t.Cells), 1) - 1
	b.text(sheet, 1, titleRow, t.Title, b.titleStyle())
	b.text(sheet, 1, axesRow, axes(t), b.smallStyle())
	b.style(sheet, 1, axesRow, b.made("axes", excelize.Style{Font: &excelize.Font{Italic: true, Color: "595959"}}))
	beside := slices.DeleteFunc(slices.Clone(companions), func(c companion) bool { return !c.has(t) })
	b.grids[sheet].reserve(firstRow, last, (len(t.Cols)+1)*(len(beside)+1))
	widths := b.values(sheet, t)
	left := len(widths)
	for _, c := range beside {
		widths = append(widths, gapWide)
		widths = append(widths, b.companion(sheet, t, len(widths)+1, c)...)
	}
	turn := turns(t, total(widths[:left]))
	if turn {
		widths[0] = max(widths[0], longestName(t))
	}
	if total(widths) > pageWide && len(widths) > left { // the chart and the texts get the room that they need
		widths[left] = max(gapWide, chartChars-total(widths[:left]))
	}
	b.widths(sheet, widths...)
	row := b.legend(sheet, t, last+2)
	row = b.texts(sheet, t, row+1, widths)
	if b.tableChart(sheet, t, row+1) {
		row += chartRows
	}
	b.nameParts(sheet, t)
	b.try(b.f.SetPanes(sheet, &excelize.Panes{Freeze: true, XSplit: 1, YSplit: headRow, TopLeftCell: at(2, firstRow), ActivePane: "bottomRight"}))
	if !turn {
		b.page(sheet, report, tablePaper(sheet, widths, left, last, row))
		return
	}
	end, pages := b.turned(sheet, t, row+1, widths)
	right, _ := spread(widths, chartChars)
	b.page(sheet, report, paper{wide: pages, tall: true, heads: row + 2, areas: []string{area(sheet, 1, last+1, max(right, len(t.Cells)+1), end)}})
}

// longestName is the width that the names of the columns take below each other.
func longestName(t tables.Table) float64 {
	wide := 0.0
	for _, c := range t.Cols {
		wide = max(wide, fitted(c.Name))
	}
	return wide
}

func indented() *excelize.Alignment {
	return &excelize.Alignment{Horizontal: "left", Indent: 1, Vertical: "center"}
}

// values writes the block to copy and gives the widths of its columns.
func (b *book) values(sheet string, t tables.Table) []float64 {
	b.text(sheet, 1, bandRow, "Values", b.boldStyle())
	b.rowHeight(sheet, headRow, headHeight(t))
	b.text(sheet, 1, headRow, corner(t), b.headStyle(t.Row.Text))
	widths := []float64{fitted(corner(t))}
	for r := range t.Cells {
		b.rowHead(sheet, 1, firstRow+r, t, r)
		widths[0] = max(widths[0], fitted(rowText(t, r)))
	}
	for c, col := range t.Cols {
		b.columnHead(sheet, c+2, t, c, col.Text)
		wide := headWidth(t, c)
		for r, row := range t.Cells {
			text := cellText(t, r, c)
			wide = max(wide, fitted(text))
			if col.Text {
				b.text(sheet, c+2, firstRow+r, text, b.textStyle())
			} else {
				b.numberText(sheet, c+2, firstRow+r, text, b.valueStyle(shownDecimals(col, text), row[c].Basis, row[c].Status))
			}
		}
		widths = append(widths, wide)
	}
	return widths
}

// headWidth is the width that a header needs: of many columns a narrow one, in
// which it wraps.
func headWidth(t tables.Table, c int) float64 {
	wide := fitted(t.Cols[c].Name)
	if len(t.Cols) > manyColumns {
		wide = min(wide, narrowHead)
	}
	return wide
}

const manyColumns, narrowHead = 8, 9

func headHeight(t tables.Table) float64 {
	lines := 1
	if len(t.Cols) > manyColumns {
		for _, c := range t.Cols {
			lines = max(lines, len(wrap(clean(c.Name), narrowHead-1)))
		}
	}
	return float64(3 + 14*min(lines, 6))
}

func (b *book) rowHead(sheet string, col, row int, t tables.Table, r int) {
	if t.Row.Text {
		b.text(sheet, col, row, rowText(t, r), b.textStyle())
	} else {
		b.numberText(sheet, col, row, rowText(t, r), b.axisStyle(axisDecimals(t)))
	}
}

// shownDecimals is how many digits after the point a number is shown with.
func shownDecimals(col tables.Column, text string) int {
	if col.Mixed {
		return needed(text)
	}
	return col.Decimals
}

// needed is how many digits after the point a number has, zeros at its end apart.
func needed(text string) int {
	_, digits, _ := strings.Cut(text, ".")
	return len(strings.TrimRight(digits, "0"))
}

// axisDecimals is how many digits after the point the breakpoints of the rows need.
func axisDecimals(t tables.Table) (most int) {
	for r := range t.RowAt {
		most = max(most, needed(rowText(t, r)))
	}
	return most
}

func (b *book) columnHead(sheet string, at int, t tables.Table, c int, left bool) {
	if t.Grid() && isNumber(t.Cols[c].Name) {
		b.numberText(sheet, at, headRow, t.Cols[c].Name, b.headStyle(left))
	} else {
		b.text(sheet, at, headRow, t.Cols[c].Name, b.headStyle(left))
	}
}

// fitted is the width of a column that shows a text whole, up to a limit.
func fitted(s string) float64 { return float64(min(max(cellsWide(clean(s))+2, 8), 34)) }

// legend shows the looks that the table uses, each beside its meaning.
func (b *book) legend(sheet string, t tables.Table, row int) int {
	used := map[string]bool{}
	for _, cells := range t.Cells {
		for c, cell := range cells {
			if t.Cols[c].Text {
				continue
			}
			for _, s := range samples {
				if sameLook(s, cell) {
					used[s.text] = true
				}
			}
		}
	}
	for _, s := range samples {
		if !used[s.text] || len(used) == 1 && used[samples[0].text] {
			continue
		}
		digits := ""
		if s.status.HasValue() {
			digits = "1.00"
		}
		b.numberText(sheet, 1, row, digits, b.valueStyle(2, s.basis, s.status))
		b.text(sheet, 2, row, s.text, b.made("legend", excelize.Style{Alignment: indented()}))
		row++
	}
	return row
}

func sameLook(s sample, cell tables.Cell) bool {
	if s.status == diag.OK {
		return cell.Status.HasValue() && cell.Basis == s.basis
	}
	return cell.Status == s.status
}

// Widths in characters: of a paragraph, of the chart, of a gap between blocks.
const textWide, chartChars, gapWide = 95.0, 114.0, 3.0

// texts writes what the table is and its warnings into merged cells.
func (b *book) texts(sheet string, t tables.Table, row int, widths []float64) int {
	list := []string{t.About}
	for _, n := range t.Notes {
		list = append(list, n.Severity.String()+": "+n.Error())
	}
	if !t.Grid() && len(t.Cols) <= 12 {
		for _, c := range append([]tables.Column{t.Row}, t.Cols...) {
			if c.About != "" {
				list = append(list, heading(c)+": "+c.About)
			}
		}
	}
	last, sum := spread(widths, textWide)
	for _, s := range list {
		if s == "" {
			continue
		}
		b.text(sheet, 1, row, s, b.plainStyle())
		b.merge(sheet, row, 1, last)
		lines := len(wrap(clean(s), int(sum*0.95)))
		b.rowHeight(sheet, row, min(float64(15*max(lines, 1)+3), 400))
		row++
	}
	return row
}

// spread is the first column by which the widths add up to enough; columns after
// the last have the usual width.
func spread(widths []float64, enough float64) (col int, sum float64) {
	const usual = 9.0
	for sum < enough {
		if col < len(widths) {
			sum += widths[col]
		} else {
			sum += usual
		}
		col++
	}
	return col, sum
}

// nameParts lets formulas find the parts of a table: dead_time_values, _rows and
// _columns of a grid, flow_rows and flow_<column> of a list, and <name>_table for
// reading back; companion adds names of its own.
func (b *book) nameParts(sheet string, t tables.Table) {
	if len(t.Cells) == 0 || len(t.Cols) == 0 {
		return
	}
	name, last, right := cellName(t.Name), firstRow+len(t.Cells)-1, len(t.Cols)+1
	b.define(name+"_table", sheet, 1, headRow, right, last)
	b.define(name+"_rows", sheet, 1, firstRow, 1, last)
	if t.Grid() {
		b.define(name+"_columns", sheet, 2, headRow, right, headRow)
		b.define(name+"_values", sheet, 2, firstRow, right, last)
		return
	}
	for c, col := range t.Cols {
		b.define(ColumnName(t, col), sheet, c+2, firstRow, c+2, last)
	}
}

// ColumnName is the defined name of a list's column in the workbook.
func ColumnName(t tables.Table, c tables.Column) string { return cellName(t.Name + "_" + c.Name) }

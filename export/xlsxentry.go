package export

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"injtab/tables"
)

func (e Entry) heading() bool { return !e.Input && e.From == "" && e.Formula == "" }

func (b *book) entry(sheet string, row int, e Entry) {
	label := b.made("label", excelize.Style{Alignment: &excelize.Alignment{Vertical: "center", WrapText: true}})
	switch {
	case e.Step:
		label = b.smallStyle()
	case e.heading():
		label = b.boldStyle()
	}
	b.text(sheet, 1, row, e.Label, label)
	b.text(sheet, 3, row, e.Unit, b.made("unit", excelize.Style{Alignment: indented()}))
	b.remark(sheet, row, e)
	switch {
	case e.Formula != "":
		b.formula(sheet, row, e)
	case e.Input:
		b.numberText(sheet, 2, row, number(e.Number, e.Decimals), b.inputStyle(digits(e.Decimals)))
		b.limits(sheet, row, e)
	case e.From != "":
		b.text(sheet, 2, row, e.Text, b.inputStyle("@"))
		b.choice(sheet, row, e)
	default:
		return
	}
	if e.Name != "" {
		b.define(e.Name, sheet, 2, row, 2, row)
	}
}

// remark says what an entry is; of an input that was assumed also why, for as long
// as it is what it was.
func (b *book) remark(sheet string, row int, e Entry) {
	if e.Assumed == "" {
		b.text(sheet, 4, row, e.About, b.smallStyle())
		return
	}
	start := quotedText(e.Text)
	if e.Input {
		start = number(e.Number, e.Decimals)
	}
	said := strings.TrimSpace("Assumed: " + e.Assumed + ". " + e.About)
	b.rowHeight(sheet, row, float64(3+12*len(wrap(said, 92))))
	formula := fmt.Sprintf("IF(%s=%s,%s,%s)", e.Name, start, quotedText(said), quotedText(e.About))
	b.formulaText(sheet, 4, row, formula, said, b.smallStyle())
}

// quotedText is a text as a formula writes it.
func quotedText(s string) string {
	return `"` + strings.ReplaceAll(cut(clean(s), 250), `"`, `""`) + `"`
}

// formula writes a result; a text has the whole width.
func (b *book) formula(sheet string, row int, e Entry) {
	gives, style := "", b.resultStyle(e)
	if e.Value != nil && finite(e.Number) {
		gives = strconv.FormatFloat(e.Number, 'g', -1, 64)
	}
	if e.Says != nil {
		gives = e.Text
		style = b.made("says", excelize.Style{Font: &excelize.Font{Bold: true, Color: "000000"}, Border: frame(1, grey), Alignment: indented()})
		b.merge(sheet, row, 2, 4)
		b.style(sheet, 4, row, style)
	}
	b.formulaText(sheet, 2, row, e.Formula, gives, style)
	if e.Mark != "" {
		b.mark(sheet, row, e)
	}
}

// mark sets a result off, white on black, while a condition holds.
func (b *book) mark(sheet string, row int, e Entry) {
	look, err := b.f.NewConditionalStyle(&excelize.Style{Font: &excelize.Font{Bold: true, Color: "FFFFFF"}, Fill: solid("000000")})
	b.try(err)
	b.try(b.f.SetConditionalFormat(sheet, at(2, row), []excelize.ConditionalFormatOptions{{Type: "formula", Criteria: e.Mark, Format: &look}}))
}

// inputStyle is the same for all cells to type in: a thick frame, and a tint for
// those who see it.
func (b *book) inputStyle(format string) int {
	return b.made("input "+format, excelize.Style{
		Font: &excelize.Font{Bold: true, Color: "000000"}, Fill: solid("FFF8DC"), CustomNumFmt: &format, Border: frame(5, ink),
		Alignment: &excelize.Alignment{Horizontal: "right", Vertical: "center"},
	})
}

func (b *book) resultStyle(e Entry) int {
	format := digits(e.Decimals)
	s := excelize.Style{Font: &excelize.Font{Bold: !e.Step, Italic: e.Step, Color: "000000"}, CustomNumFmt: &format, Border: frame(1, grey),
		Alignment: &excelize.Alignment{Horizontal: "right", Vertical: "center"}}
	return b.made(fmt.Sprintf("result %s %v", format, e.Step), s)
}

// limits refuses numbers outside the range with a sentence.
func (b *book) limits(sheet string, row int, e Entry) {
	if e.Max <= e.Min {
		return
	}
	rule := excelize.NewDataValidation(false)
	rule.SetSqref(at(2, row))
	b.try(rule.SetRange(e.Min, e.Max, excelize.DataValidationTypeDecimal, excelize.DataValidationOperatorBetween))
	from, to := number(e.Min, e.Decimals), number(e.Max, e.Decimals)
	rule.SetError(excelize.DataValidationErrorStyleStop, "Out of range", fmt.Sprintf("Type a number from %s to %s %s.", from, to, e.Unit))
	b.try(b.f.AddDataValidation(sheet, rule))
}

// choice lets the user pick from cells; a list of cells has no limit of length.
func (b *book) choice(sheet string, row int, e Entry) {
	rule := excelize.NewDataValidation(false)
	rule.SetSqref(at(2, row))
	rule.SetSqrefDropList(e.From)
	rule.SetError(excelize.DataValidationErrorStyleStop, "Not in the list", "Pick one of the list.")
	b.try(b.f.AddDataValidation(sheet, rule))
}

// list writes what an input is picked from, with the defined names of a table on
// a sheet of its own but that for reading back.
func (b *book) list(sheet string, row int, t tables.Table) int {
	b.text(sheet, 1, row, t.Title, b.boldStyle())
	b.text(sheet, 1, row+1, t.Row.Name, b.headStyle(true))
	first, last := row+2, row+1+len(t.Cells)
	b.define(cellName(t.Name)+"_rows", sheet, 1, first, 1, last)
	for r := range t.Cells {
		b.text(sheet, 1, first+r, rowText(t, r), b.textStyle())
	}
	for c, col := range t.Cols {
		b.text(sheet, c+2, row+1, col.Name, b.headStyle(false))
		for r := range t.Cells {
			b.numberText(sheet, c+2, first+r, cellText(t, r, c), b.plainNumber(col.Decimals))
		}
		b.define(ColumnName(t, col), sheet, c+2, first, c+2, last)
	}
	return last + 1
}

package export

import (
	"fmt"
	"strconv"

	"github.com/xuri/excelize/v2"
)

// A Calculation is a sheet of inputs and formulas that goes on working in the
// spreadsheet: the fuel to pulse for a point typed in, a what-if on duty.
type Calculation struct {
	Name    string // of the sheet
	Title   string
	Text    []string
	Entries []Entry
}

// An Entry is one line of a calculation: an input, a formula, or a heading where
// it has a Label alone.
//
// A formula's Value says in Go what it gives, from the entries above that have a
// name, NaN where it has no value. It is stored in the cell for readers that can't
// calculate; where there is none they see an empty cell.
type Entry struct {
	Label    string
	Name     string // defined name by which formulas know it; "" if none needs it
	Unit     string
	About    string
	Decimals int

	Number   float64 // of an input that is a number
	Input    bool    // the user types a number
	Min, Max float64 // of an input; both 0: any

	Text string // of an input that is a text
	From string // the user picks a text from the cells of this defined name

	Formula string // without "="; knows the names of the workbook's tables and entries
	Value   func(known map[string]Entry) float64
	Step    bool // on the way to a result, set small
}

// calculation writes one sheet.
func (b *book) calculation(sheet, report string, c Calculation) {
	for i, w := range []float64{34, 16, 10, 80} {
		b.width(sheet, i+1, w)
	}
	b.text(sheet, 1, 1, c.Title, b.titleStyle())
	row := 2
	for _, s := range c.Text {
		b.text(sheet, 1, row, s, b.plainStyle())
		b.try(b.f.MergeCell(sheet, at(1, row), at(4, row)))
		b.try(b.f.SetRowHeight(sheet, row, min(float64(15*max(len(wrap(clean(s), 130)), 1)+3), 400)))
		row++
	}
	row++
	known := map[string]Entry{}
	for i, e := range c.Entries {
		if e.heading() && i > 0 {
			row++
		}
		if e.Value != nil {
			e.Number = e.Value(known)
		}
		known[e.Name] = e
		b.entry(sheet, row, e)
		row++
	}
	no := false
	b.try(b.f.SetSheetView(sheet, 0, &excelize.ViewOptions{ShowGridLines: &no}))
	b.page(sheet, report, paper{whole: row <= pageRows})
}

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
	b.text(sheet, 4, row, e.About, b.smallStyle())
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

func (b *book) formula(sheet string, row int, e Entry) {
	if e.Value != nil && finite(e.Number) {
		b.try(b.f.SetCellDefault(sheet, at(2, row), strconv.FormatFloat(e.Number, 'g', -1, 64)))
	}
	b.try(b.f.SetCellFormula(sheet, at(2, row), e.Formula))
	b.style(sheet, 2, row, b.resultStyle(e))
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

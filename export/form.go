package export

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"injtab/tables"
)

// FormCSV writes what a bench file needs of a form to be filled in: the sheet setup
// as lines "# key = value", then the sheet readings, with empty cells for what is to
// be written.
func FormCSV(w io.Writer, f tables.FillForm) error {
	if err := checkForm(f); err != nil {
		return err
	}
	out := csv.NewWriter(w)
	for _, s := range f.Sheets {
		switch s.Name {
		case "setup":
			for _, row := range s.Rows {
				out.Write([]string{"# " + row[0].Text + " = " + guard(lf(formText(row[1])))})
			}
		case "readings":
			writeSheetCSV(out, s)
		}
	}
	out.Flush()
	return out.Error()
}

// writeSheetCSV writes header and rows; errors wait in out.Error.
func writeSheetCSV(out *csv.Writer, s tables.FormSheet) {
	line := make([]string, len(s.Columns))
	for i, c := range s.Columns {
		line[i] = guard(c.Header)
	}
	out.Write(line)
	for _, row := range s.Rows {
		for i, c := range row {
			line[i] = formText(c)
			if c.Kind == tables.FormIsText || !c.Numeric {
				line[i] = textOrNumber(line[i], c.Kind != tables.FormIsNumber)
			}
		}
		out.Write(line)
	}
}

// formText is a cell's known content; "" where there is none.
func formText(c tables.FormCell) string {
	switch {
	case c.Kind == tables.FormIsText, c.Kind == tables.FormIsInput && c.Filled && !c.Numeric:
		return c.Text
	case c.Kind == tables.FormIsNumber, c.Kind == tables.FormIsInput && c.Filled:
		return strconv.FormatFloat(c.Number, 'f', -1, 64)
	}
	return ""
}

// checkForm refuses a form whose parts don't fit together: a mistake of the
// program.
func checkForm(f tables.FillForm) error {
	for _, s := range f.Sheets {
		for i, row := range s.Rows {
			if len(row) != len(s.Columns) {
				return fmt.Errorf("form %s can't be written: row %d of sheet %s has %d cells for %d columns", f.Name, i+1, s.Name, len(row), len(s.Columns))
			}
			for _, c := range row {
				if !finite(c.Number, c.Rule.Lo, c.Rule.Hi, c.Quotient.Less, c.Quotient.Times, c.Quotient.Limit) {
					return fmt.Errorf("form %s can't be written: row %d of sheet %s holds a number that is not finite", f.Name, i+1, s.Name)
				}
			}
		}
	}
	return nil
}

// FormXLSX writes a form as a workbook: only the cells to fill in can be changed,
// and they take only what their rules allow. The sheet readings is shown first. The
// bytes depend on the form alone.
func FormXLSX(w io.Writer, f tables.FillForm) error {
	if err := checkForm(f); err != nil {
		return err
	}
	b := newBook()
	defer b.f.Close()
	for i, s := range f.Sheets {
		name := s.Name
		if i == 0 {
			b.firstSheet(name)
		} else {
			name = b.newSheet(name)
		}
		b.formSheet(name, f.Title, s)
	}
	b.properties(tables.Report{Title: f.Title})
	if i, err := b.f.GetSheetIndex("readings"); err == nil && i >= 0 {
		b.f.SetActiveSheet(i)
	}
	if b.err != nil {
		return fmt.Errorf("the workbook can't be made: %w", b.err)
	}
	return b.f.Write(w)
}

// formSheet fills one sheet; its header is row 1, which stays in view.
func (b *book) formSheet(name, title string, s tables.FormSheet) {
	widths := make([]float64, len(s.Columns))
	for i, c := range s.Columns {
		b.text(name, i+1, 1, c.Header, b.headStyle(formTextColumn(s, i)))
		widths[i] = c.Width
	}
	b.widths(name, widths...)
	for r, row := range s.Rows {
		for i, c := range row {
			b.formCell(name, i+1, r+2, c, s.Columns[i].Decimals)
		}
	}
	b.rules(name, s)
	b.marks(name, s)
	b.try(b.f.SetPanes(name, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft",
		Selection: []excelize.Selection{{SQRef: "A2", ActiveCell: "A2", Pane: "bottomLeft"}}}))
	b.try(b.f.ProtectSheet(name, &excelize.SheetProtectionOptions{
		SelectLockedCells: true, SelectUnlockedCells: true, FormatColumns: true, FormatRows: true, EditObjects: true, EditScenarios: true}))
	b.formPage(name, title, s)
}

func formTextColumn(s tables.FormSheet, i int) bool {
	for _, row := range s.Rows {
		switch c := row[i]; c.Kind {
		case tables.FormIsText:
			return true
		case tables.FormIsNumber, tables.FormIsQuotient:
			return false
		case tables.FormIsInput:
			return !c.Numeric
		}
	}
	return true
}

func (b *book) formCell(sheet string, col, row int, c tables.FormCell, decimals int) {
	switch c.Kind {
	case tables.FormIsText:
		b.text(sheet, col, row, c.Text, b.textStyle())
	case tables.FormIsNumber:
		b.numberText(sheet, col, row, formText(c), b.knownStyle(decimals))
	case tables.FormIsQuotient:
		b.formulaText(sheet, col, row, quotient(c.Quotient), "", b.plainNumber(decimals))
	case tables.FormIsInput:
		b.formInput(sheet, col, row, c)
	case tables.FormIsBlank:
		b.style(sheet, col, row, b.textStyle())
	}
}

func (b *book) formInput(sheet string, col, row int, c tables.FormCell) {
	style := b.fillStyle(c.Numeric)
	switch {
	case !c.Filled:
		b.style(sheet, col, row, style)
	case c.Numeric:
		b.numberText(sheet, col, row, formText(c), style)
	default:
		b.text(sheet, col, row, c.Text, style)
	}
}

// knownStyle shows as many digits as a number has, up to a most.
func (b *book) knownStyle(decimals int) int {
	format := "0"
	if decimals > 0 {
		format = "0." + strings.Repeat("#", decimals)
	}
	if decimals == 0 {
		format = "General"
	}
	return b.made("known "+format, excelize.Style{CustomNumFmt: &format, Border: frame(7, grey)})
}

// fillStyle is a cell to write in: framed, pale, and not locked.
func (b *book) fillStyle(number bool) int {
	s := excelize.Style{
		Font: &excelize.Font{Color: ink}, Fill: solid(toFill), Border: frame(1, ink),
		Protection: &excelize.Protection{Locked: false},
	}
	if !number {
		s.NumFmt, s.Alignment = 49, indented()
	}
	return b.made(fmt.Sprint("input ", number), s)
}

const toFill = "FFF8DC"

// quotient is a formula that stays empty as long as its first cell is.
func quotient(q tables.FormQuotientOf) string {
	of, by := formRef(q.Of), formRef(q.By)
	value := of + "/" + by
	if q.Less > 0 {
		value = fmt.Sprintf("(%s-%s)", value, plainDigits(q.Less))
	}
	if q.Times > 0 {
		value += "*" + plainDigits(q.Times)
	}
	return fmt.Sprintf(`IF(OR(%s="",N(%s)<=0),"",%s)`, of, by, value)
}

func plainDigits(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

func formRef(r tables.FormRef) string {
	return quoted(r.Sheet) + "!" + at(r.Column+1, r.Row+2)
}

// rules has a spreadsheet watch what is written. Neighbouring cells of a column
// with the same rule share one.
func (b *book) rules(sheet string, s tables.FormSheet) {
	for col := range s.Columns {
		for from := 0; from < len(s.Rows); {
			c := s.Rows[from][col]
			to := from + 1
			for to < len(s.Rows) && sameRule(c, s.Rows[to][col]) {
				to++
			}
			if c.Kind == tables.FormIsInput {
				b.rule(sheet, at(col+1, from+2)+":"+at(col+1, to+1), c)
			}
			from = to
		}
	}
}

func sameRule(a, b tables.FormCell) bool {
	return a.Kind == b.Kind && a.Numeric == b.Numeric && fmt.Sprint(a.Rule) == fmt.Sprint(b.Rule)
}

func (b *book) rule(sheet, cells string, c tables.FormCell) {
	r := c.Rule
	v := excelize.NewDataValidation(true)
	v.Sqref = cells
	message := r.Message
	switch {
	case len(r.List) > 0:
		b.try(v.SetDropList(r.List))
	case c.Numeric && r.Hi > r.Lo:
		b.try(v.SetRange(r.Lo, r.Hi, excelize.DataValidationTypeDecimal, excelize.DataValidationOperatorBetween))
		if message == "" {
			message = fmt.Sprintf("A number from %s to %s.", plainDigits(r.Lo), plainDigits(r.Hi))
		}
	default:
		return
	}
	style := excelize.DataValidationErrorStyleStop
	if r.Loose {
		style = excelize.DataValidationErrorStyleWarning
	}
	if message != "" {
		v.SetInput("What to write", message)
	}
	v.SetError(style, "Not expected here", cut("Expected: "+message, 200))
	b.try(b.f.AddDataValidation(sheet, v))
}

// marks has quotients beyond their limit stand out, also in a black and white
// print.
func (b *book) marks(sheet string, s tables.FormSheet) {
	bold, err := b.f.NewConditionalStyle(&excelize.Style{Font: &excelize.Font{Bold: true, Underline: "single", Color: "9C0006"}, Fill: solid("FFC7CE")})
	b.try(err)
	for col := range s.Columns {
		limit, first, last := 0.0, -1, 0
		for r, row := range s.Rows {
			if q := row[col].Quotient; q.Limit > 0 {
				if first < 0 {
					first = r
				}
				limit, last = q.Limit, r
			}
		}
		if first < 0 {
			continue
		}
		cell := at(col+1, first+2)
		b.try(b.f.SetConditionalFormat(sheet, cell+":"+at(col+1, last+2), []excelize.ConditionalFormatOptions{{
			Type: "formula", Criteria: fmt.Sprintf("AND(ISNUMBER(%s),ABS(N(%s))>%s)", cell, cell, plainDigits(limit)), Format: &bold}}))
	}
}

// formPage sets the sheet to print on as many pages as it takes, as wide as one,
// with the header on each.
func (b *book) formPage(sheet, title string, s tables.FormSheet) {
	landscape, size, wide, tall, yes := "landscape", 9, 1, 0, true
	b.try(b.f.SetPageLayout(sheet, &excelize.PageLayoutOptions{Orientation: &landscape, Size: &size, FitToWidth: &wide, FitToHeight: &tall}))
	b.try(b.f.SetSheetProps(sheet, &excelize.SheetPropsOptions{FitToPage: &yes}))
	b.try(b.f.SetHeaderFooter(sheet, &excelize.HeaderFooterOptions{
		OddHeader: "&L" + escapeHeader(title) + "&R&A", OddFooter: "&L" + escapeHeader(s.About) + "&RPage &P of &N"}))
	b.try(b.f.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", RefersTo: quoted(sheet) + "!$1:$1", Scope: sheet}))
}

// escapeHeader keeps a text from being taken for codes of a page header.
func escapeHeader(s string) string { return strings.ReplaceAll(shorten(clean(s), 100), "&", "&&") }

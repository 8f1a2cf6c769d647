package export

import (
	"slices"

	"github.com/xuri/excelize/v2"

	"injtab/tables"
)

// A Calculation is a sheet of inputs and formulas that goes on working in the
// spreadsheet: the fuel to pulse for a point typed in, a what-if on duty. What is
// typed in and what comes of it stand first, the way there below.
type Calculation struct {
	Name    string // of the sheet
	Title   string
	Text    []string
	Entries []Entry
	Steps   []Entry        // between the inputs and the results of Entries
	Lists   []tables.Table // of no sheet of their own: what an input is picked from
}

// An Entry is one line of a calculation: an input, a formula, or a heading where
// it has a Label alone.
//
// A formula's Value says in Go what it gives, from the inputs, the steps and the
// entries above that have a name, NaN where it has no value; Says does so for a
// text, from all numbers and the texts above. It is stored in the cell for readers
// that can't calculate; where there is none they see an empty cell.
type Entry struct {
	Label    string
	Name     string // defined name by which formulas know it; "" if none needs it
	Unit     string
	About    string
	Decimals int

	Number   float64 // of an input that is a number
	Input    bool    // the user types a number
	Min, Max float64 // of an input; both 0: any
	Assumed  string  // of an input: why it starts with what it does, shown until it is changed

	Text string // of an input that is a text
	From string // the user picks a text from the cells of this defined name

	Formula string // without "="; knows the names of the workbook's tables and entries
	Value   func(known map[string]Entry) float64
	Says    func(known map[string]Entry) string
	Mark    string // the condition, as a formula, under which the result is set off
	Step    bool   // on the way to a result, set small
}

// Known gives every entry that has a name with its value as Go works it out: inputs
// as they are shown, then numbers, then the sentences that are made of them.
func (c Calculation) Known() map[string]Entry {
	known := map[string]Entry{}
	for _, e := range c.Entries {
		if e.Input {
			e.Number, _, _ = sheet{}.number(number(e.Number, e.Decimals))
		}
		known[e.Name] = e
	}
	all := slices.Concat(c.Steps, c.Entries)
	for _, e := range all {
		if e.Formula != "" && e.Says == nil {
			known[e.Name] = e.worked(known)
		}
	}
	for _, e := range all {
		if e.Says != nil {
			known[e.Name] = e.worked(known)
		}
	}
	return known
}

// worked is the entry with the value that it has beside others.
func (e Entry) worked(known map[string]Entry) Entry {
	if e.Value != nil {
		e.Number = e.Value(known)
	}
	if e.Says != nil {
		e.Text = e.Says(known)
	}
	return e
}

// calculation writes one sheet.
func (b *book) calculation(sheet, report string, c Calculation) {
	b.widths(sheet, 34, 16, 12, 78)
	b.text(sheet, 1, 1, c.Title, b.titleStyle())
	row := 2
	for _, s := range c.Text {
		b.text(sheet, 1, row, s, b.plainStyle())
		b.merge(sheet, row, 1, 4)
		b.rowHeight(sheet, row, min(float64(15*max(len(wrap(clean(s), 130)), 1)+3), 400))
		row++
	}
	known := c.Known()
	row = b.entries(sheet, row+1, c.Entries, known)
	printed := paper{areas: []string{area(sheet, 1, 1, 4, row-1)}, whole: row <= pageRows}
	row = b.entries(sheet, row, c.Steps, known)
	for _, t := range c.Lists {
		row = b.list(sheet, row+1, t)
	}
	no := false
	b.try(b.f.SetSheetView(sheet, 0, &excelize.ViewOptions{ShowGridLines: &no}))
	b.page(sheet, report, printed)
}

// entries writes a list of entries, headings apart, and gives the row below.
func (b *book) entries(sheet string, row int, list []Entry, known map[string]Entry) int {
	for _, e := range list {
		if e.heading() {
			row++
		}
		b.entry(sheet, row, e.worked(known))
		row++
	}
	return row
}

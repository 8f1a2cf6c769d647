package tables

// A FillForm is a workbook to fill in by hand: cells that are known, cells to fill and
// cells that work something out. Its sheets setup and readings together are a bench
// file once they are filled in.
type FillForm struct {
	Name   string // stem of the file
	Title  string
	Sheets []FormSheet
}

// A FormSheet is a header and rows below it.
type FormSheet struct {
	Name    string
	About   string // one sentence on how to use it
	Columns []FormColumn
	Rows    [][]FormCell // as many cells as columns
}

// A FormColumn is a header, its unit the suffix of the name, and how its numbers
// are shown.
type FormColumn struct {
	Header   string
	Width    float64 // in characters
	Decimals int     // most digits shown behind the point
}

// A FormKind says what a cell is.
type FormKind uint8

const (
	FormIsBlank    FormKind = iota // nothing, and nothing to be written
	FormIsText                     // a known text
	FormIsNumber                   // a known number
	FormIsInput                    // to be filled in; Text or Number, where given, is what to start from
	FormIsQuotient                 // works itself out
)

// A FormCell is one cell of a form.
type FormCell struct {
	Kind     FormKind
	Text     string
	Number   float64
	Numeric  bool // an input that takes a number
	Filled   bool // an input that starts with Text or Number
	Rule     FormRule
	Quotient FormQuotientOf
}

// A FormRule says what an input may hold; the zero value takes anything.
type FormRule struct {
	Lo, Hi  float64  // of a number, both ends included
	List    []string // texts to choose from
	Loose   bool     // anything else is asked about, not refused
	Message string   // what to write, one sentence
}

// A FormRef names a cell by sheet, row and column, from 0, the header not counted.
type FormRef struct {
	Sheet       string
	Row, Column int
}

// A FormQuotientOf is (Of/By − Less)·Times, with Times 0 taken as 1; blank as long
// as Of is blank or By is not above zero. Beyond ±Limit, where that is not 0, the
// cell is marked.
type FormQuotientOf struct {
	Of, By      FormRef
	Less, Times float64
	Limit       float64
}

// Makers of cells.

func FormBlank() FormCell           { return FormCell{} }
func FormText(text string) FormCell { return FormCell{Kind: FormIsText, Text: text} }
func FormNumber(x float64) FormCell { return FormCell{Kind: FormIsNumber, Number: x} }
func FormInput(x float64, r FormRule) FormCell {
	return FormCell{Kind: FormIsInput, Number: x, Numeric: true, Filled: true, Rule: r}
}
func FormEmpty(r FormRule) FormCell { return FormCell{Kind: FormIsInput, Numeric: true, Rule: r} }
func FormInputText(text string, r FormRule) FormCell {
	return FormCell{Kind: FormIsInput, Text: text, Filled: text != "", Rule: r}
}
func FormQuotient(q FormQuotientOf) FormCell { return FormCell{Kind: FormIsQuotient, Quotient: q} }

package export

import (
	"fmt"
	"io"
	"regexp"
	"strings"

	"github.com/xuri/excelize/v2"

	"injtab/tables"
)

// Workbook writes a report as XLSX: a sheet that says what this is, one for each
// table with its values ready to copy, what they rest on and a chart, then one
// for each calculation. Numbers are those of CSV digit for digit; texts are made
// safe to show. The bytes depend on the report alone.
func Workbook(w io.Writer, r tables.Report, calcs []Calculation) error {
	if err := checkReport(r); err != nil {
		return err
	}
	b := newBook()
	defer b.f.Close()
	b.fill(r, calcs)
	if b.err != nil {
		return fmt.Errorf("the workbook can't be made: %w", b.err)
	}
	return b.f.Write(w)
}

// A book is a workbook in the making. After the first error the rest is in vain,
// so it is kept and told at the end.
type book struct {
	f      *excelize.File
	err    error
	first  string // sheet
	styles map[styleKey]int
	sheets map[string]bool      // names in use, in lower case
	names  map[string]bool      // defined names in use, in lower case
	named  []byte               // the same with their cells, as they stand in the workbook
	grids  map[string]*cellGrid // of the sheets
	parts  map[string]*cellGrid // the same by the names of the sheets' parts
	shared map[string]int32     // numbers of the texts of cells, from 1
	last   struct {             // that was asked for
		key    styleKey
		style  int
		text   string
		shared int32 // number of the text; 0: there was none
	}
}

func newBook() *book {
	f := excelize.NewFile()
	f.SetDefaultFont(family) // it fails on a missing style sheet only
	b := &book{
		f: f, styles: map[styleKey]int{}, sheets: map[string]bool{}, names: map[string]bool{},
		grids: map[string]*cellGrid{}, parts: map[string]*cellGrid{}, shared: map[string]int32{},
	}
	f.SetZipWriter(func(w io.Writer) excelize.ZipWriter { return newZip(w, b.parts, b.named) })
	return b
}

func (b *book) try(err error) {
	if b.err == nil {
		b.err = err
	}
}

const aboutSheet = "About"

func (b *book) fill(r tables.Report, calcs []Calculation) {
	b.firstSheet(aboutSheet)
	var list []sheetLink
	for _, s := range r.Sections {
		for _, t := range s.Tables {
			name := b.newSheet(t.Name)
			b.tableSheet(name, r.Title, t)
			list = append(list, sheetLink{name, t.Title, t.About})
		}
	}
	for _, c := range calcs {
		name := b.newSheet(c.Name)
		b.calculation(name, r.Title, c)
		list = append(list, sheetLink{name, c.Title, strings.Join(c.Text, " ")})
	}
	b.about(r, list)
	b.properties(r)
}

// properties name the document; the times are fixed so that the same report gives
// the same bytes, and the application's name stays what makes readers recalculate.
func (b *book) properties(r tables.Report) {
	const always = "2000-01-01T00:00:00Z"
	b.try(b.f.SetDocProps(&excelize.DocProperties{
		Title: limit(r.Title), Creator: Tool, LastModifiedBy: Tool, Created: always, Modified: always,
		Description: "Injector tables written by " + Tool + " " + Version, Language: "en",
	}))
	yes := true
	b.try(b.f.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: &yes}))
	b.f.SetActiveSheet(0)
	for _, sheet := range b.f.GetSheetList() {
		b.try(b.f.SetSheetDimension(sheet, "A1:"+at(b.grids[sheet].wide, b.grids[sheet].high)))
	}
}

// firstSheet gives the sheet that every workbook has its name.
func (b *book) firstSheet(name string) {
	b.try(b.f.SetSheetName("Sheet1", name))
	b.first = name
	b.register(name)
}

// register keeps the cells of a sheet; the library numbers the sheets' parts from 1.
func (b *book) register(sheet string) {
	g := new(cellGrid)
	b.sheets[strings.ToLower(sheet)], b.grids[sheet] = true, g
	b.parts[fmt.Sprintf("xl/worksheets/sheet%d.xml", len(b.grids))] = g
}

// newSheet adds a sheet under a name that the format allows and no other has.
func (b *book) newSheet(wanted string) string {
	base := strings.Trim(strings.Map(func(r rune) rune {
		if strings.ContainsRune(`[]:*?/\'`, r) {
			return '-'
		}
		return r
	}, clean(wanted)), " -")
	if base == "" {
		base = "table"
	}
	name := cut(base, 31)
	for n := 2; b.sheets[strings.ToLower(name)]; n++ {
		end := fmt.Sprintf(" %d", n)
		name = cut(base, 31-len(end)) + end
	}
	_, err := b.f.NewSheet(name)
	b.try(err)
	b.register(name)
	return name
}

// cut keeps the first n characters at most, counted as the format does: in units
// of UTF-16.
func cut(s string, n int) string {
	for i, r := range s {
		if n--; r > 0xffff {
			n--
		}
		if n < 0 {
			return s[:i]
		}
	}
	return s
}

// limit makes a text safe to show and short enough for a property or a header.
func limit(s string) string { return shorten(clean(s), 80) }

// define names a range of cells for formulas and for reading back. The library compares each
// name with all others, which took a fifth of the time of the demonstration's workbook.
func (b *book) define(name, sheet string, col0, row0, col1, row1 int) {
	key := strings.ToLower(name)
	if b.names[key] || likeAddress.MatchString(name) || !goodName.MatchString(name) {
		b.try(fmt.Errorf("%q can't name cells: it is in use, is an address, or has other characters than letters, digits and _", name))
		return
	}
	b.names[key] = true
	b.named = fmt.Appendf(b.named, `<definedName name="%s">`, name)
	b.named = append(inXML(b.named, area(sheet, col0, row0, col1, row1)), "</definedName>"...)
}

var (
	likeAddress = regexp.MustCompile(`^(?i:[a-z]{1,3}[0-9]+|r[0-9]*|c[0-9]*|r[0-9]*c[0-9]*)$`)
	escapeLike  = regexp.MustCompile(`_x[0-9A-Fa-f]{4}_`)
	goodName    = regexp.MustCompile(`^[A-Za-z_][A-Za-z0-9_]*$`)
)

// cellName makes a defined name of a table's or column's name.
func cellName(s string) string {
	s = strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '_' {
			return r
		}
		return '_'
	}, s)
	if !goodName.MatchString(s) || likeAddress.MatchString(s) {
		s = "_" + s
	}
	return cut(s, 200)
}

// area writes a range with its sheet: 'dead_time'!$A$5:$D$9.
func area(sheet string, col0, row0, col1, row1 int) string {
	from, _ := excelize.CoordinatesToCellName(col0, row0, true) // columns and rows are ours
	to, _ := excelize.CoordinatesToCellName(col1, row1, true)
	return quoted(sheet) + "!" + from + ":" + to
}

// quoted is a sheet's name as formulas write it.
func quoted(sheet string) string { return "'" + strings.ReplaceAll(sheet, "'", "''") + "'" }

// at writes the address of a cell.
func at(col, row int) string {
	name, _ := excelize.CoordinatesToCellName(col, row) // columns and rows are ours
	return name
}

// inCell is a text as a cell holds it; the library refuses more than 32767 characters.
func inCell(s string) string { return cut(clean(s), 32000) }

// text, numberText, formulaText and style put one thing into one cell.

func (b *book) text(sheet string, col, row int, s string, style int) {
	c := b.grids[sheet].cell(col, row)
	c.shared, c.style = b.share(s), int32(style)
}

func (b *book) numberText(sheet string, col, row int, digits string, style int) {
	if digits == "" {
		b.style(sheet, col, row, style)
		return
	}
	b.grids[sheet].put(col, row, style, digits)
}

// formulaText writes a formula with what it gives, "" where that is not known.
func (b *book) formulaText(sheet string, col, row int, formula, gives string, style int) {
	b.grids[sheet].putFormula(col, row, style, content{gives, formula, !isNumber(gives)})
}

func (b *book) style(sheet string, col, row, style int) {
	b.grids[sheet].cell(col, row).style = int32(style)
}

func (b *book) rowHeight(sheet string, row int, points float64) {
	b.grids[sheet].row(row).height = points
}

// merge makes one cell of those of a row from one column to another, with the content
// of the first.
func (b *book) merge(sheet string, row, from, to int) {
	b.try(b.f.MergeCell(sheet, at(from, row), at(to, row)))
	cells := b.grids[sheet].row(row).cells
	for i, c := range cells {
		if int(c.column) > from && int(c.column) <= to {
			cells[i].shared, cells[i].own = 0, 0
		}
	}
}

// share gives the number of a text among those that cells share. The library keeps them
// in the order in which they come, so each is given to it once, in a cell that has no
// part in the workbook: those of cellGrid take the place of all. Of an archive most cells
// are like the one before: to see that first, for their styles too, takes a tenth of the
// time of its workbook.
func (b *book) share(text string) int32 {
	if text == b.last.text && b.last.shared > 0 {
		return b.last.shared
	}
	n := b.shareClean(inCell(text))
	b.last.text, b.last.shared = text, n
	return n
}

func (b *book) shareClean(s string) int32 {
	n, known := b.shared[s]
	if known {
		return n
	}
	if escapeLike.MatchString(s) {
		// The library keeps such a text apart from an escape in rich text only.
		b.try(b.f.SetCellRichText(b.first, "A1", []excelize.RichTextRun{{Text: s}}))
	} else {
		b.try(b.f.SetCellStr(b.first, "A1", s))
	}
	n = int32(len(b.shared)) + 1
	b.shared[s] = n
	return n
}

// widths sets those of the first columns, in characters. The library goes over all columns
// at each call, so it learns of those alone that a chart stands on, which it measures.
func (b *book) widths(sheet string, chars ...float64) {
	b.grids[sheet].widths = chars
	under, _ := spread(chars, chartChars)
	for i, wide := range chars[:min(under, len(chars))] {
		name, _ := excelize.ColumnNumberToName(i + 1) // columns are ours
		b.try(b.f.SetColWidth(sheet, name, name, wide))
	}
}

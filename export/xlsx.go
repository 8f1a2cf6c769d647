package export

import (
	"fmt"
	"io"
	"math"
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
	styles map[string]int
	sheets map[string]bool   // names in use, in lower case
	names  map[string]bool   // defined names in use, in lower case
	far    map[string][2]int // the last column and row of each sheet
	said   map[string]string // what the formulas that give a text give
}

func newBook() *book {
	f := excelize.NewFile()
	f.SetDefaultFont(family) // it fails on a missing style sheet only
	said := map[string]string{}
	f.SetZipWriter(func(w io.Writer) excelize.ZipWriter { return newZip(w, said) })
	return &book{f: f, styles: map[string]int{}, sheets: map[string]bool{}, names: map[string]bool{}, far: map[string][2]int{}, said: said}
}

func (b *book) try(err error) {
	if b.err == nil {
		b.err = err
	}
}

const aboutSheet = "About"

func (b *book) fill(r tables.Report, calcs []Calculation) {
	b.sheets[strings.ToLower(aboutSheet)] = true
	b.try(b.f.SetSheetName("Sheet1", aboutSheet))
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
		b.try(b.f.SetSheetDimension(sheet, "A1:"+at(b.far[sheet][0], b.far[sheet][1])))
	}
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
	b.sheets[strings.ToLower(name)] = true
	_, err := b.f.NewSheet(name)
	b.try(err)
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

// define names a range of cells for formulas and for reading back.
func (b *book) define(name, sheet string, col0, row0, col1, row1 int) {
	key := strings.ToLower(name)
	if b.names[key] || likeAddress.MatchString(name) || !goodName.MatchString(name) {
		b.try(fmt.Errorf("%q can't name cells: it is in use, is an address, or has other characters than letters, digits and _", name))
		return
	}
	b.names[key] = true
	b.try(b.f.SetDefinedName(&excelize.DefinedName{Name: name, RefersTo: area(sheet, col0, row0, col1, row1)}))
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

// text, numberText and style put one thing into one cell.

func (b *book) text(sheet string, col, row int, s string, style int) {
	s = inCell(s)
	if escapeLike.MatchString(s) {
		// The library keeps such a text apart from an escape in rich text only.
		b.try(b.f.SetCellRichText(sheet, at(col, row), []excelize.RichTextRun{{Text: s}}))
	} else {
		b.try(b.f.SetCellStr(sheet, at(col, row), s))
	}
	b.style(sheet, col, row, style)
}

func (b *book) numberText(sheet string, col, row int, digits string, style int) {
	b.try(b.f.SetCellDefault(sheet, at(col, row), digits))
	b.style(sheet, col, row, style)
}

func (b *book) style(sheet string, col, row, style int) {
	far := b.far[sheet]
	b.far[sheet] = [2]int{max(far[0], col), max(far[1], row)}
	b.try(b.f.SetCellStyle(sheet, at(col, row), at(col, row), style))
}

// widths sets those of the first columns, in characters. The library goes over all
// columns at each call, so neighbours of one width are set at once.
func (b *book) widths(sheet string, chars ...float64) {
	for from := 0; from < len(chars); {
		to := from + 1
		for to < len(chars) && math.Abs(chars[to]-chars[from]) < 0.001 {
			to++
		}
		first, _ := excelize.ColumnNumberToName(from + 1) // columns are ours
		last, _ := excelize.ColumnNumberToName(to)
		b.try(b.f.SetColWidth(sheet, first, last, chars[from]))
		from = to
	}
}

package bench

import (
	"archive/zip"
	"fmt"
	"io"
	"path"
	"slices"
	"strings"
	"sync"

	"github.com/xuri/excelize/v2"

	"injtab/fit/diag"
)

// bookSource streams the rows of one sheet of a workbook.
type bookSource struct {
	p      *parser
	book   *excelize.File
	rows   *excelize.Rows
	line   int
	ahead  []row // read while the header was looked for
	hidden int
}

func openWorkbook(p *parser, in *io.SectionReader) (source, error) {
	if err := inspectZip(p, in); err != nil {
		return nil, err
	}
	book, err := openBook(in, p.most)
	if err != nil {
		return nil, diag.Fail(p.at(0, ""), "damaged", "the workbook can't be opened (%v): is it cut off or damaged? Open it in a spreadsheet program and save it again", err)
	}
	s := &bookSource{p: p, book: book}
	name, err := pickSheet(p, book.GetSheetList())
	if err == nil {
		p.sheet, p.comma, p.ragged, p.lettered = name, commaInText, true, true
		p.unworked = sync.OnceValue(func() map[cellAt]bool { return formulasOf(book, name) })
		err = s.damaged(sensibly(s.openSheets))
	}
	if err != nil {
		s.close()
		return nil, err
	}
	return s, nil
}

// openSheets begins to read the sheet of readings and reads the setup.
func (s *bookSource) openSheets() (err error) {
	if s.rows, err = s.book.Rows(s.p.sheet); err != nil {
		return err
	}
	return s.readSetup()
}

// damaged gives an error of the library its place.
func (s *bookSource) damaged(err error) error {
	if err == nil {
		return nil
	}
	return diag.Fail(s.p.at(s.line, ""), "damaged", "the sheet can't be read (%v): open the workbook in a spreadsheet program and save it again", err)
}

// inspectZip looks at a workbook's parts before they are unfolded.
func inspectZip(p *parser, in *io.SectionReader) error {
	refuse := func(code, format string, args ...any) error {
		return diag.Fail(diag.Place{File: p.file}, code, format, args...)
	}
	z, err := zip.NewReader(in, in.Size())
	if err != nil {
		return refuse("damaged", "the workbook is cut off or damaged (%v): copy or save it again", err)
	}
	var size, whole, packed uint64
	var wrong *zip.File
	names := map[string]bool{}
	for _, f := range z.File {
		packed += min(f.CompressedSize64, uint64(in.Size())+1)
		if !credible(f, in.Size()) || packed > uint64(in.Size()) { // parts don't lie over each other
			wrong = f
		}
		size += min(f.UncompressedSize64, 2*uint64(p.most)) // so that the sum can't overflow
		if !strings.HasPrefix(strings.ToLower(f.Name), "xl/worksheets/sheet") && hasMarkup(f.Name) {
			whole = max(whole, f.UncompressedSize64)
		}
		names[strings.ToLower(f.Name)] = true
	}
	switch {
	case size > uint64(p.most):
		return refuse("too-large", "the workbook unfolds to more than %d MB, which no bench session needs: is it the right file? If so, "+raise, p.most>>20)
	case wrong != nil:
		return refuse("damaged", "the workbook is damaged (its part %q has a size that can't be): copy or save it again", wrong.Name)
	case whole > uint64(p.most/wholeShare):
		return refuse("too-large", "the texts or formats of the workbook unfold to more than a sixteenth of %d MB, which no bench session needs: copy the readings alone into a new workbook, or save them as .csv; for all of it, "+raise, p.most>>20)
	case names["mimetype"]:
		return refuse("not-xlsx", "this is an OpenDocument file: save it as .xlsx or .csv")
	case names["xl/workbook.bin"]:
		return refuse("not-xlsx", "this is a workbook in binary form: save it as .xlsx or .csv")
	case !names["xl/workbook.xml"]:
		return refuse("not-xlsx", "this is a zip archive but no workbook: give the .xlsx or .csv file itself")
	case names["xl/vbaproject.bin"]:
		p.warn(diag.Place{File: p.file}, "macros", "the workbook has macros: they were not run; cells are read as they were saved")
	}
	return nil
}

// wholeShare is the part of the bound for a part that the library takes apart as a
// whole, which takes many times its size: texts, formats, tables of contents.
const wholeShare = 16

// credible tells whether a part of a zip file can unfold to what it claims. Memory is
// taken for the claim before a byte is read.
func credible(f *zip.File, file int64) bool {
	return f.CompressedSize64 <= uint64(file) && f.UncompressedSize64/deflateMost <= f.CompressedSize64
}

// deflateMost is the most bytes that one byte of a deflate stream can stand for: 258
// of them for two bits (RFC 1951, section 3.2.5).
const deflateMost = 4 * 258

func hasMarkup(name string) bool {
	switch strings.ToLower(path.Ext(name)) {
	case ".xml", ".rels":
		return true
	}
	return false
}

// unfoldedInMemory is up to what size a sheet is unfolded in memory; that of a session has
// a hundredth of it. A larger one, of 200,000 readings or more, goes through a temporary
// file: in memory a million would take 890 MB.
const unfoldedInMemory = 64 << 20

// openBook opens a workbook. All of it stays in memory but for very large sheets: the
// library's temporary files would stay behind if the program were killed.
func openBook(in *io.SectionReader, most int64) (book *excelize.File, err error) {
	if _, err := in.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	err = sensibly(func() (err error) {
		book, err = excelize.OpenReader(in, excelize.Options{
			RawCellValue: true, UnzipSizeLimit: most, UnzipXMLSizeLimit: min(most, unfoldedInMemory)})
		return err
	})
	return book, err
}

// sensibly calls the library, which a damaged part can make panic: that is bad input,
// not a mistake of the program.
func sensibly(call func() error) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("a part of it makes no sense: %v", r)
		}
	}()
	return call()
}

// pickSheet takes the sheet readings, or the only one besides setup.
func pickSheet(p *parser, names []string) (string, error) {
	var others []string
	for _, name := range names {
		if strings.EqualFold(name, "readings") {
			return name, nil
		}
		if !strings.EqualFold(name, "setup") {
			others = append(others, name)
		}
	}
	if len(others) == 1 {
		return others[0], nil
	}
	if len(others) == 0 {
		return "", diag.Fail(p.at(0, ""), "no-sheet", "the workbook has no sheet readings (found: %s): add one, with a header row and below it one reading a row", strings.Join(names, ", "))
	}
	return "", diag.Fail(p.at(0, ""), "no-sheet", "the workbook has no sheet readings, and %s: name the one with the readings so (found: %s)",
		count(len(others), "other", "others"), strings.Join(names, ", "))
}

// readSetup takes keys and values from the sheet setup, if there is one.
func (s *bookSource) readSetup() error {
	names := s.book.GetSheetList()
	i := slices.IndexFunc(names, func(n string) bool { return strings.EqualFold(n, "setup") })
	if i < 0 || names[i] == s.p.sheet {
		return nil
	}
	rows, err := s.book.Rows(names[i])
	if err != nil {
		return err
	}
	defer rows.Close()
	for line := 1; rows.Next(); line++ {
		cells, err := rows.Columns()
		if err != nil {
			return err
		}
		s.p.setup.addCells(diag.Place{File: s.p.file, Sheet: names[i], Line: line}, cells)
	}
	return nil
}

// addCells takes a row of the sheet setup: a key, its value and any remarks.
func (s *setupReader) addCells(at diag.Place, cells []string) {
	if len(cells) < 2 || blank(cells[:2]) {
		return
	}
	key := strings.TrimSpace(strings.Trim(strings.TrimSpace(cells[0]), "#="))
	value := strings.TrimSpace(cells[1])
	if key == "" || strings.EqualFold(key, "key") && strings.EqualFold(value, "value") {
		return
	}
	at.Column = key
	s.settings = append(s.settings, setting{key, value, at})
}

// preamble reads on until no later row can be the header.
func (s *bookSource) preamble() ([]row, error) {
	best, header := 0, -1
	for len(s.ahead) < headerWithin && best < surely {
		cells, line, err := s.fetch()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		s.ahead = append(s.ahead, row{line, cells, strings.TrimSpace(strings.Join(cells, " "))})
		if score := headerScore(cells); score > best {
			best, header = score, len(s.ahead)-1
		}
	}
	if header < 0 {
		return nil, diag.Fail(s.p.at(1, ""), "no-header", "no header row was found: expected a row that names the columns, one in each cell: injector, pulse_ms, period_ms, shots, volume_ml, pressure_kpa, voltage_v; where whole rows stand in one cell, part the text into columns")
	}
	top := s.ahead[:header+1]
	s.ahead = s.ahead[header+1:]
	return top, nil
}

// vary does nothing: to compare rows would save little of what it takes to unpack them.
func (s *bookSource) vary(int, int) {}

func (s *bookSource) next() (cells []string, line int, like bool, err error) {
	if len(s.ahead) > 0 {
		r := s.ahead[0]
		s.ahead = s.ahead[1:]
		return r.cells, r.line, false, nil
	}
	cells, line, err = s.fetch()
	if err == io.EOF && s.hidden > 0 {
		s.p.warn(s.p.at(0, ""), "hidden-rows", "%s read as the others: delete what is not meant to count", count(s.hidden, "hidden row was", "hidden rows were"))
		s.hidden = 0
	}
	return cells, line, false, err
}

// fetch gives the next row that has a cell.
func (s *bookSource) fetch() (cells []string, line int, err error) {
	err = sensibly(func() (err error) {
		cells, err = s.nextFilled()
		return err
	})
	switch {
	case err != nil:
		return nil, 0, s.damaged(err)
	case cells == nil:
		return nil, 0, io.EOF
	}
	return cells, s.line, nil
}

// nextFilled is nil after the last row.
func (s *bookSource) nextFilled() ([]string, error) {
	for s.rows.Next() {
		s.line++
		cells, err := s.rows.Columns()
		if err != nil {
			return nil, err
		}
		if blank(cells) {
			continue
		}
		if s.rows.GetRowOpts().Hidden {
			s.hidden++
		}
		return cells, nil
	}
	return nil, s.rows.Error()
}

func (s *bookSource) size(int) int { return 1024 }

func (s *bookSource) close() {
	if s.rows != nil {
		s.rows.Close()
	}
	s.book.Close()
}

package bench

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"injtab/fit/diag"
)

const maxErrors = 20 // collected before reading stops: a mechanic mends all at once

// Read reads a bench file: CSV (comma, semicolon or tab) or XLSX, which the content
// decides, long or wide. The name is for messages. Errors are diag.Notes, joined,
// with the place, what was read, what was expected and what to do; the sheet is
// then zero. A file is gone through twice and never held as a whole; of more than a
// million readings repeats are let go, which Check reads again: the input has to stay open
// and as it is until then.
func Read(r io.Reader, name string) (Sheet, error) { return ReadUpTo(r, name, MaxBytes) }

// ReadUpTo reads a bench file that may have so many bytes, or unfold to them.
func ReadUpTo(r io.Reader, name string, most int64) (Sheet, error) {
	return readHolding(r, name, most, mostHeld)
}

// readHolding holds so many readings; of more it lets repeats go.
func readHolding(r io.Reader, name string, most int64, held int) (Sheet, error) {
	var t *thinning
	p := &parser{file: name, most: most, collect: func() (c collector) {
		c, t = thinned(held)
		return c
	}}
	in, s, err := p.readAll(r)
	if err != nil {
		return Sheet{}, err
	}
	gone := t.finish(&p.readings)
	sheet := p.finish()
	sheet.SHA256 = s.sha
	if gone > 0 {
		sheet.Readings.rest, sheet.Readings.anew = gone, &anew{in, most}
	}
	return sheet, nil
}

// readAll reads an input to its end, which can be read again then.
func (p *parser) readAll(r io.Reader) (*io.SectionReader, survey, error) {
	in, s, err := p.takeIn(r)
	if err != nil {
		return nil, s, err
	}
	src, err := open(p, in, s)
	if err != nil {
		return nil, s, err
	}
	defer src.close()
	p.read(src)
	return in, s, p.err()
}

// takeIn goes through the input for the first time.
func (p *parser) takeIn(r io.Reader) (*io.SectionReader, survey, error) {
	in, err := sectionOf(r, p.most)
	if err == nil && in.Size() > p.most {
		return nil, survey{}, diag.Fail(diag.Place{File: p.file}, "too-large",
			"the file has more than %d MB, which no bench session needs: is it the right file? If so, "+raise, p.most>>20)
	}
	var s survey
	if err == nil {
		s, err = look(in)
	}
	var long longLine
	if errors.As(err, &long) {
		return nil, survey{}, diag.Fail(p.at(int(long), ""), "too-large", "the line has more than %d MB, which no row of a table needs: is it the right file, and are its line ends still there?", maxLine>>20)
	}
	if err != nil {
		return nil, survey{}, diag.Fail(diag.Place{File: p.file}, "unreadable", "the file can't be read: %v", err)
	}
	return in, s, nil
}

// A source gives a table's rows one after another.
type source interface {
	// preamble gives the rows down to the header, which is the last of them.
	preamble() ([]row, error)
	// vary names two columns that may differ in rows that are like each other.
	vary(a, b int)
	// next gives the cells of the next row that has any, valid until the call after, and
	// whether they were found to be like the row before; io.EOF after the last one.
	next() (cells []string, line int, like bool, err error)
	// size guesses how many amounts are to come, if each row has so many.
	size(perRow int) int
	close()
}

// A row above the data. Raw is the whole of it as one text.
type row struct {
	line  int
	cells []string
	raw   string
}

// open tells by content what kind of file it is, and refuses with a reason those
// that hold no readings.
func open(p *parser, in *io.SectionReader, s survey) (source, error) {
	start := func(with string) bool { return bytes.HasPrefix(s.start, []byte(with)) }
	refuse := func(code, format string, args ...any) (source, error) {
		return nil, diag.Fail(diag.Place{File: p.file}, code, format, args...)
	}
	switch {
	case strings.HasPrefix(filepath.Base(p.file), "~$"):
		return refuse("lock-file", "this is the lock file that a spreadsheet program leaves beside an open workbook: give the workbook itself, without ~$ in its name")
	case s.blank:
		return refuse("empty", "the file is empty: expected a header row and readings below it")
	case start("PK"):
		return openWorkbook(p, in)
	case start("\xD0\xCF\x11\xE0"):
		return refuse("old-workbook", "this is a workbook in the old binary format or one with a password: open it, take the password off and save it as .xlsx or .csv")
	case start("%PDF"):
		return refuse("not-a-table", "this is a PDF document: give the table itself as .csv or .xlsx")
	case start("<"), start("{"):
		return refuse("not-a-table", "this is a web page, a document or data of another program: save the table as .csv or .xlsx and give that")
	case start("\x89PNG"), start("\xFF\xD8\xFF"):
		return refuse("not-a-table", "this is a picture: type the readings into a table and give that as .csv or .xlsx")
	case start("\x1F\x8B"):
		return refuse("not-a-table", "this is a packed file: unpack it and give the .csv or .xlsx file itself")
	}
	return openCSV(p, in, s)
}

// A parser turns rows into readings and collects what is wrong with them.
type parser struct {
	file, sheet string
	most        int64 // bytes of a file, or of what it unfolds to
	comma       commaRule
	ragged      bool // rows may be shorter than the header
	lettered    bool // columns have letters, as in a workbook

	errs  []error
	alike map[string]repeats // of the errors that rows may share
	full  bool
	notes []diag.Note

	header      row
	cols        []column
	amounts     []int // columns of which at least one must be filled: of a wide table, the injectors
	amountField field // volume or mass
	nameColumn  int   // of the injectors, unless it is a wide table
	conditions  []int // columns
	wide        bool
	shown       [fields]string     // header of each field that has a column
	base        draft              // what setup lines say of all readings
	placed      [fields]diag.Place // and where
	row         draft
	like        bool // the row before made a reading
	setup       setupReader
	signs       signs
	unworked    func() map[cellAt]bool // of a workbook: the cells that hold a formula
	listed      bool                   // the known columns were told
	inSetup     bool                   // a setup line's number is read
	readings    collector
	collect     func() collector // makes one for the readings, from the first

	divisionIsMass bool
	hashed         []diag.Place // rows that begin with #
	unmarked       bool         // some row does not
	out            Sheet
}

func (p *parser) at(line int, column string) diag.Place {
	return diag.Place{File: p.file, Sheet: p.sheet, Line: line, Column: column}
}

// fail notes an error; after maxErrors the reading stops.
func (p *parser) fail(at diag.Place, code, format string, args ...any) {
	n := diag.Fail(at, code, format, args...)
	if p.full || slices.Contains(p.errs, error(n)) || p.again(n) { // a setup line is judged with every row
		return
	}
	p.errs = append(p.errs, n)
	if len(p.errs) >= maxErrors {
		p.full = true
		p.errs = append(p.errs, diag.Fail(diag.Place{File: p.file, Sheet: p.sheet}, "more-errors",
			"stopped after %d errors: mend these and read the file again", maxErrors))
	}
}

// failNote adds an error that was made elsewhere.
func (p *parser) failNote(err error) {
	var n diag.Note
	if errors.As(err, &n) {
		p.fail(n.Place, n.Code, "%s", n.Message)
		return
	}
	p.fail(p.at(0, ""), "unreadable", "%v", err)
}

func (p *parser) warn(at diag.Place, code, format string, args ...any) {
	p.notes = append(p.notes, diag.Note{Severity: diag.Warning, Code: code, Place: at, Message: fmt.Sprintf(format, args...)})
}

func (p *parser) err() error {
	p.tellAgain()
	return errors.Join(p.errs...)
}

// read takes the preamble, then every row.
func (p *parser) read(src source) {
	rows, err := src.preamble()
	if err != nil {
		p.failNote(err)
		return
	}
	p.readHeader(rows)
	if len(p.errs) > 0 {
		p.judgeTurned(src)
		return
	}
	p.vary(src)
	if !p.readParts(src, partSize) && !p.readRows(src) {
		return
	}
	p.judgeSigns()
	p.judgeHashes()
	if len(p.readings.commons.list) == 0 && len(p.errs) == 0 {
		p.noReadings()
	}
}

// vary tells the source by what rows may differ that are like each other: in a table with a
// reading in each row the injector and the amount.
func (p *parser) vary(src source) {
	if !p.wide && p.shown[injector] != "" {
		p.nameColumn = slices.IndexFunc(p.cols, func(c column) bool { return !c.skip && c.field == injector })
		src.vary(p.nameColumn, p.amounts[0])
	}
}

// perRow is how many amounts a row has.
func (p *parser) perRow() int {
	if p.wide {
		return len(p.amounts)
	}
	return 1
}

// start is a collector for the readings of a source.
func (p *parser) start(src source) collector {
	c := p.collect()
	c.rows = slices.Grow(c.rows, min(src.size(p.perRow()), cmp.Or(c.room, math.MaxInt-1)+1))
	return c
}

// readRows takes every row. It gives false where the rest can't be read.
func (p *parser) readRows(src source) bool {
	p.readings = p.start(src)
	for !p.full {
		cells, line, like, err := src.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			p.failNote(err)
			return false
		}
		if !like || !p.readLike(cells, line) {
			p.readRow(cells, line)
		}
	}
	return true
}

func (p *parser) noReadings() {
	at := p.at(p.header.line, "")
	if p.out.Missing > 0 {
		p.fail(at, "no-readings", "%s and none filled in: write what was delivered and read the file again", count(p.out.Missing, "amount is prepared", "amounts are prepared"))
		return
	}
	p.fail(at, "no-readings", "there is a header but no reading below it: expected one reading a row")
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

package bench

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"injtab/fit/diag"
)

const (
	maxBytes  = 1 << 30 // of a file; a million readings have about 60 MB
	maxErrors = 20      // collected before reading stops: a mechanic mends all at once
)

// Read reads a bench file: CSV (comma, semicolon or tab) or XLSX, which the content
// decides, long or wide. The name is for messages. Errors are diag.Notes, joined,
// with the place, what was read, what was expected and what to do; the sheet is
// then zero.
func Read(r io.Reader, name string) (Sheet, error) {
	p := &parser{file: name, intern: map[string]string{}}
	text, hash, err := readText(r, name)
	if err != nil {
		return Sheet{}, err
	}
	src, err := open(p, text)
	if err != nil {
		return Sheet{}, err
	}
	defer src.close()
	p.read(src)
	if err := p.err(); err != nil {
		return Sheet{}, err
	}
	sheet := p.finish()
	sheet.SHA256 = hash
	return sheet, nil
}

// readText takes in the whole file, and its SHA-256 on the way.
func readText(r io.Reader, name string) (text, hash string, err error) {
	var b strings.Builder
	if size, ok := r.(interface{ Stat() (fs.FileInfo, error) }); ok {
		if info, err := size.Stat(); err == nil {
			b.Grow(int(min(max(info.Size(), 0), maxBytes)))
		}
	}
	h := sha256.New()
	n, err := io.Copy(io.MultiWriter(&b, h), io.LimitReader(r, maxBytes+1))
	if err != nil {
		return "", "", diag.Fail(diag.Place{File: name}, "unreadable", "the file can't be read: %v", err)
	}
	if n > maxBytes {
		return "", "", diag.Fail(diag.Place{File: name}, "too-large",
			"the file has more than %d MB, which no bench session needs: is it the right file?", maxBytes>>20)
	}
	return b.String(), hex.EncodeToString(h.Sum(nil)), nil
}

// A source gives a table's rows one after another.
type source interface {
	// preamble gives the rows down to the header, which is the last of them.
	preamble() ([]row, error)
	// next gives the cells of the next row that has any, valid until the call after;
	// io.EOF after the last one.
	next() (cells []string, line int, err error)
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
func open(p *parser, text string) (source, error) {
	refuse := func(code, format string, args ...any) (source, error) {
		return nil, diag.Fail(diag.Place{File: p.file}, code, format, args...)
	}
	switch {
	case strings.HasPrefix(filepath.Base(p.file), "~$"):
		return refuse("lock-file", "this is the lock file that a spreadsheet program leaves beside an open workbook: give the workbook itself, without ~$ in its name")
	case strings.TrimSpace(text) == "":
		return refuse("empty", "the file is empty: expected a header row and readings below it")
	case strings.HasPrefix(text, "PK"):
		return openWorkbook(p, text)
	case strings.HasPrefix(text, "\xD0\xCF\x11\xE0"):
		return refuse("old-workbook", "this is a workbook in the old binary format or one with a password: open it, take the password off and save it as .xlsx or .csv")
	case strings.HasPrefix(text, "%PDF"):
		return refuse("not-a-table", "this is a PDF document: give the table itself as .csv or .xlsx")
	case strings.HasPrefix(text, "<"), strings.HasPrefix(text, "{"):
		return refuse("not-a-table", "this is a web page, a document or data of another program: save the table as .csv or .xlsx and give that")
	case strings.HasPrefix(text, "\x89PNG"), strings.HasPrefix(text, "\xFF\xD8\xFF"):
		return refuse("not-a-table", "this is a picture: type the readings into a table and give that as .csv or .xlsx")
	case strings.HasPrefix(text, "\x1F\x8B"):
		return refuse("not-a-table", "this is a packed file: unpack it and give the .csv or .xlsx file itself")
	}
	return openCSV(p, text)
}

// A parser turns rows into readings and collects what is wrong with them.
type parser struct {
	file, sheet string
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
	wide        bool
	shown       [fields]string     // header of each field that has a column
	base        draft              // what setup lines say of all readings
	placed      [fields]diag.Place // and where
	row         draft
	setup       setupReader
	signs       signs
	unworked    func(cell string) bool // of a workbook: does an empty cell hold a formula?
	looked      int                    // how often unworked was asked
	listed      bool                   // the known columns were told
	inSetup     bool                   // a setup line's number is read
	intern      map[string]string
	asides      asides

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
	perRow := 1
	if p.wide {
		perRow = len(p.amounts)
	}
	p.out.Readings = make([]Reading, 0, src.size(perRow))
	for !p.full {
		cells, line, err := src.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			p.failNote(err)
			return
		}
		p.readRow(cells, line)
	}
	p.judgeSigns()
	p.judgeHashes()
	if len(p.out.Readings) == 0 && len(p.errs) == 0 {
		p.noReadings()
	}
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

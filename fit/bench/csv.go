package bench

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"strings"

	"injtab/fit/diag"
)

// headerWithin is how many rows a header may stand below the top.
const headerWithin = 200

// csvSource splits text into cells. Lines without quotes are cut by hand, which takes
// half the time of encoding/csv; a file with quotes goes through encoding/csv.
type csvSource struct {
	p         *parser
	text      *text
	left      int // lines, about
	line      int // of the last row given
	separator byte
	rows      twin
	top       []row
	quoted    *csv.Reader
	before    int // lines above what quoted reads
}

func openCSV(p *parser, in *io.SectionReader, s survey) (source, error) {
	if err := s.judge(p); err != nil {
		return nil, err
	}
	begin := int64(0)
	if bytes.HasPrefix(s.start, []byte("\uFEFF")) {
		begin = int64(len("\uFEFF"))
	}
	c := &csvSource{p: p}
	old := s.lines == 0
	header, err := c.findHeader(in, begin, old)
	if err != nil {
		return nil, err
	}
	if c.text, err = newText(in, header, old); err != nil {
		return nil, unreadable(p, err)
	}
	c.left = max(0, s.lines-c.line) + 1
	c.rows.separator = c.separator
	p.comma = commaIsDecimal
	if c.separator == ',' {
		p.comma = commaSeparates
	}
	if s.lastQuote >= header {
		c.quoted = newCSV(c.text, c.separator)
		c.before = c.line
	}
	return c, nil
}

func unreadable(p *parser, err error) error {
	return diag.Fail(diag.Place{File: p.file}, "unreadable", "the file can't be read: %v", err)
}

func newCSV(text io.Reader, separator byte) *csv.Reader {
	r := csv.NewReader(text)
	r.Comma = rune(separator)
	r.FieldsPerRecord = -1
	r.ReuseRecord = true
	r.TrimLeadingSpace = separator != '\t' // would swallow empty cells between tabs
	return r
}

// findHeader settles the separator by which one makes columns that are known of one
// of the first lines, takes the lines down to that one, and tells where they end.
func (s *csvSource) findHeader(in *io.SectionReader, begin int64, old bool) (end int64, err error) {
	t, err := newText(in, begin, old)
	if err != nil {
		return 0, unreadable(s.p, err)
	}
	var lines []string
	best, rivals := 0, 0
	s.separator = ','
	for len(lines) < headerWithin && best < surely {
		text, err := t.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return 0, unreadable(s.p, err)
		}
		lines = append(lines, strings.Clone(text))
		if isSetup(strings.TrimPrefix(text, `"`)) {
			continue
		}
		score, separator, ways := s.scoreLine(text)
		if score > best {
			best, rivals, s.separator = score, ways-1, separator
			s.line, end = len(lines), t.at
		}
	}
	if best == 0 {
		return 0, diag.Fail(s.p.at(1, ""), "no-header", "%s", noHeader)
	}
	if rivals > 0 {
		return 0, diag.Fail(s.p.at(s.line, ""), "separator", "the header has several kinds of separator and the columns can't be told apart: use one of comma, semicolon or tab throughout")
	}
	for i, text := range lines[:s.line] {
		s.top = append(s.top, s.topRow(text, i+1))
	}
	return end, nil
}

// scoreLine says how much a line looks like the header, cut by which separator, and
// how many separators make known columns of it.
func (s *csvSource) scoreLine(text string) (best int, separator byte, ways int) {
	for _, sep := range []byte{',', ';', '\t'} {
		score := headerScore(s.splitQuoted(text, sep))
		if score > best {
			best, separator = score, sep
		}
		if score > 0 && strings.IndexByte(text, sep) >= 0 {
			ways++
		}
	}
	return best, separator, ways
}

const noHeader = "no header row was found: expected a row that names the columns, with commas, semicolons or tabs between them and no quotation marks around the whole of it, such as injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v"

func (s *csvSource) topRow(text string, line int) row {
	cells := s.splitQuoted(text, s.separator)
	if strings.HasPrefix(text, `"`) && isSetup(text[1:]) { // quoted by a spreadsheet program
		for len(cells) > 1 && cells[len(cells)-1] == "" {
			cells = cells[:len(cells)-1]
		}
		return row{line, cells, strings.Join(cells, string(s.separator))}
	}
	return row{line, cells, strings.TrimRight(text, string(s.separator)+" ")}
}

// splitQuoted cuts one line of which quotes are possible.
func (s *csvSource) splitQuoted(text string, sep byte) []string {
	if strings.IndexByte(text, '"') < 0 {
		return split(nil, text, sep)
	}
	r := newCSV(strings.NewReader(text), sep)
	r.LazyQuotes = true
	cells, err := r.Read()
	if err != nil {
		return split(nil, text, sep)
	}
	return cells
}

func (s *csvSource) preamble() ([]row, error) { return s.top, nil }
func (s *csvSource) close()                   {}

// size knows that each amount takes two bytes at least: rows may be empty.
func (s *csvSource) size(perRow int) int {
	return min(s.left*perRow, int(s.text.in.Size()-s.text.at)/2+1)
}

func (s *csvSource) vary(a, b int) {
	s.rows.vary = []int{min(a, b), max(a, b)}
}

func (s *csvSource) next() (cells []string, line int, like bool, err error) {
	if s.quoted != nil {
		cells, line, err = s.nextQuoted()
		return cells, line, false, err
	}
	for {
		text, err := s.text.next()
		if err == io.EOF && s.text.at < s.text.in.Size() {
			err = diag.Fail(s.p.at(s.line, ""), "changed", "the file became shorter while it was read: read it again")
		}
		if err != nil {
			return nil, 0, false, err
		}
		s.line++
		switch {
		case text == "":
			continue
		case s.rows.repeats(text):
			return s.rows.cells, s.line, true, nil
		}
		return s.rows.cut(text), s.line, false, nil
	}
}

func (s *csvSource) nextQuoted() ([]string, int, error) {
	cells, err := s.quoted.Read()
	var bad *csv.ParseError
	if errors.As(err, &bad) {
		return nil, 0, diag.Fail(s.p.at(s.before+bad.StartLine, ""), "quotes",
			`a quotation mark stands alone (character %d): put the whole cell in quotation marks and double those inside, or take the mark out`, bad.Column)
	}
	if err != nil {
		return nil, 0, err
	}
	line, _ := s.quoted.FieldPos(0)
	return cells, s.before + line, nil
}

func split(cells []string, text string, separator byte) []string {
	start := 0
	for i := 0; i < len(text); i++ {
		if text[i] == separator {
			cells = append(cells, text[start:i])
			start = i + 1
		}
	}
	return append(cells, text[start:])
}

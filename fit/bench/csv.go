package bench

import (
	"encoding/csv"
	"errors"
	"io"
	"strings"
	"unicode/utf8"

	"injtab/fit/diag"
)

// headerWithin is how many rows a header may stand below the top.
const headerWithin = 200

// csvSource splits text into cells. Lines without quotes are cut by hand, which takes
// half the time of encoding/csv; a file with quotes goes through encoding/csv.
type csvSource struct {
	p         *parser
	rest      string
	line      int // of the last row given
	separator byte
	cells     []string
	top       []row
	quoted    *csv.Reader
	before    int // lines above what quoted reads
}

func openCSV(p *parser, text string) (source, error) {
	text, err := decode(p, text)
	if err != nil {
		return nil, err
	}
	s := &csvSource{p: p, rest: text}
	if err := s.findHeader(); err != nil {
		return nil, err
	}
	p.comma = commaIsDecimal
	if s.separator == ',' {
		p.comma = commaSeparates
	}
	if strings.IndexByte(s.rest, '"') >= 0 {
		s.quoted = newCSV(s.rest, s.separator)
		s.before = s.line
	}
	return s, nil
}

func newCSV(text string, separator byte) *csv.Reader {
	r := csv.NewReader(strings.NewReader(text))
	r.Comma = rune(separator)
	r.FieldsPerRecord = -1
	r.ReuseRecord = true
	r.TrimLeadingSpace = separator != '\t' // would swallow empty cells between tabs
	return r
}

// decode takes a byte order mark off and refuses what is not UTF-8.
func decode(p *parser, text string) (string, error) {
	text = strings.TrimPrefix(text, "\uFEFF")
	start := text[:min(len(text), 400)]
	if strings.HasPrefix(text, "\xFF\xFE") || strings.HasPrefix(text, "\xFE\xFF") || strings.Count(start, "\x00") > len(start)/4 {
		return "", diag.Fail(diag.Place{File: p.file}, "encoding", "the text is UTF-16: save it as CSV UTF-8 and read it again")
	}
	if i := strings.IndexByte(text, 0); i >= 0 {
		return "", diag.Fail(p.at(lineOf(text, i), ""), "encoding", "there is a byte that no text has: is this a table saved as CSV?")
	}
	if !utf8.ValidString(text) {
		i := firstInvalid(text)
		return "", diag.Fail(p.at(lineOf(text, i), ""), "encoding", "the text is not UTF-8 (a letter such as ° or µ was saved in an older encoding): save it as CSV UTF-8 and read it again")
	}
	if strings.IndexByte(text, '\n') < 0 {
		text = strings.ReplaceAll(text, "\r", "\n") // line ends of old
	}
	return text, nil
}

func firstInvalid(text string) int {
	for i, r := range text {
		if r == utf8.RuneError && !strings.HasPrefix(text[i:], string(utf8.RuneError)) {
			return i
		}
	}
	return len(text)
}

func lineOf(text string, i int) int { return 1 + strings.Count(text[:i], "\n") }

// findHeader settles the separator by which one makes columns that are known of one
// of the first lines, and takes the lines down to that one off the rest.
func (s *csvSource) findHeader() error {
	best, bestLine, rivals := 0, 0, 0
	s.separator = ','
	rest, line := s.rest, 0
	for rest != "" && line < headerWithin && best < surely {
		var text string
		text, rest = cutLine(rest)
		line++
		if isSetup(strings.TrimPrefix(text, `"`)) {
			continue
		}
		score, separator, ways := s.scoreLine(text)
		if score > best {
			best, bestLine, rivals, s.separator = score, line, ways-1, separator
		}
	}
	if best == 0 {
		return diag.Fail(s.p.at(1, ""), "no-header", "%s", noHeader)
	}
	if rivals > 0 {
		return diag.Fail(s.p.at(bestLine, ""), "separator", "the header has several kinds of separator and the columns can't be told apart: use one of comma, semicolon or tab throughout")
	}
	for s.line < bestLine {
		s.top = append(s.top, s.takeRow())
	}
	return nil
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

func (s *csvSource) takeRow() row {
	var text string
	text, s.rest = cutLine(s.rest)
	s.line++
	cells := s.splitQuoted(text, s.separator)
	if strings.HasPrefix(text, `"`) && isSetup(text[1:]) { // quoted by a spreadsheet program
		for len(cells) > 1 && cells[len(cells)-1] == "" {
			cells = cells[:len(cells)-1]
		}
		return row{s.line, cells, strings.Join(cells, string(s.separator))}
	}
	return row{s.line, cells, strings.TrimRight(text, string(s.separator)+" ")}
}

// splitQuoted cuts one line of which quotes are possible.
func (s *csvSource) splitQuoted(text string, sep byte) []string {
	if strings.IndexByte(text, '"') < 0 {
		return split(nil, text, sep)
	}
	r := newCSV(text, sep)
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
	return min((strings.Count(s.rest, "\n")+1)*perRow, len(s.rest)/2+1)
}

func (s *csvSource) next() ([]string, int, error) {
	if s.quoted != nil {
		return s.nextQuoted()
	}
	for s.rest != "" {
		var text string
		text, s.rest = cutLine(s.rest)
		s.line++
		if text == "" {
			continue
		}
		s.cells = split(s.cells[:0], text, s.separator)
		return s.cells, s.line, nil
	}
	return nil, 0, io.EOF
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

func cutLine(text string) (line, rest string) {
	i := strings.IndexByte(text, '\n')
	if i < 0 {
		return strings.TrimSuffix(text, "\r"), ""
	}
	return strings.TrimSuffix(text[:i], "\r"), text[i+1:]
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

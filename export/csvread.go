package export

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"path/filepath"
	"strings"
	"unicode/utf8"

	"injtab/fit/diag"
	"injtab/tables"
)

// mostBytes is far above any table and keeps a wrong file from filling memory.
const mostBytes = 64 << 20

// ReadCSV reads a table back: a grid where the first header has a backslash or
// all other headers are numbers, else a list. name is the path for messages, its
// stem the table's name. A hand-edited file is taken with blank lines, other
// digits, or as a spreadsheet saves it where the decimal mark is a comma
// (semicolons or tabs between); anything that is no table is refused with its
// place. Digits, and so Decimals, are those of the file; an empty number is a
// cell that was not measured.
func ReadCSV(r io.Reader, name string) (tables.Table, error) {
	sheet, err := readSheet(r, name)
	if err != nil {
		return tables.Table{}, err
	}
	return sheet.table()
}

// A sheet is a file of cells whose lines are as wide as its header.
type sheet struct {
	file   string
	sheet  string // of a workbook
	comma  bool   // decimal comma
	header line
	lines  []line
}

type line struct {
	number int // in the file, from 1
	cells  []string
}

func (s sheet) fail(lineNo int, column, code, format string, args ...any) error {
	return diag.Fail(diag.Place{File: s.file, Sheet: s.sheet, Line: lineNo, Column: column}, code, format, args...)
}

func readSheet(r io.Reader, name string) (sheet, error) {
	s := sheet{file: name}
	data, err := io.ReadAll(io.LimitReader(r, mostBytes+1))
	switch {
	case err != nil:
		return s, s.fail(0, "", "unreadable", "this file can't be read: %v", err)
	case len(data) > mostBytes:
		return s, s.fail(0, "", "too_large", "this file is larger than %d MB, which no table is", mostBytes>>20)
	case bytes.HasPrefix(data, []byte{0xff, 0xfe}), bytes.HasPrefix(data, []byte{0xfe, 0xff}):
		return s, s.fail(0, "", "encoding", "this file is UTF-16; save it as CSV in UTF-8")
	case !utf8.Valid(data):
		return s, s.fail(0, "", "encoding", "this file is not UTF-8 text; save it as CSV in UTF-8")
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	in := csv.NewReader(bytes.NewReader(data))
	in.Comma = separator(data)
	in.FieldsPerRecord = -1
	s.comma = in.Comma != ','
	return s.fill(in)
}

// separator is the comma, unless the first line has none and does have another.
func separator(data []byte) rune {
	first, _, _ := bytes.Cut(bytes.TrimLeft(data, "\r\n"), []byte("\n"))
	for _, sep := range ",;\t" {
		if bytes.ContainsRune(first, sep) {
			return sep
		}
	}
	return ','
}

// fill takes the lines that hold anything; the first is the header.
func (s sheet) fill(in *csv.Reader) (sheet, error) {
	for {
		cells, err := in.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return s, s.csvError(err)
		}
		number, _ := in.FieldPos(0)
		cells = trimEnd(cells)
		if len(cells) == 0 {
			continue
		}
		if s.header.number == 0 {
			s.header = line{number, cells}
			continue
		}
		if len(cells) > len(s.header.cells) {
			return s, s.fail(number, "", "too_many_values", "this line has %d values but the header names %d columns; remove the extra ones (a decimal comma also splits a value)", len(cells), len(s.header.cells))
		}
		for len(cells) < len(s.header.cells) {
			cells = append(cells, "")
		}
		s.lines = append(s.lines, line{number, cells})
	}
	return s, s.whole()
}

func (s sheet) csvError(err error) error {
	var at *csv.ParseError
	if errors.As(err, &at) {
		return s.fail(at.StartLine, "", "quotes", "the quotation marks of this line don't pair up; a text with a comma or a quotation mark stands in quotation marks, and those inside are doubled")
	}
	return s.fail(0, "", "unreadable", "this file can't be read: %v", err)
}

// whole refuses a file without columns or rows and headers that are missing or
// stand twice.
func (s sheet) whole() error {
	if len(s.header.cells) < 2 {
		return s.fail(s.header.number, "", "no_table", "this is no table: expected a header line with two or more columns, separated by commas")
	}
	if len(s.lines) == 0 {
		return s.fail(s.header.number, "", "no_rows", "this table has a header but no rows below it")
	}
	seen := map[string]bool{}
	for i, h := range s.header.cells {
		h = strings.TrimSpace(h)
		if h == "" {
			return s.fail(s.header.number, "", "no_header", "column %d has no name in the header line", i+1)
		}
		if seen[h] {
			return s.fail(s.header.number, h, "header_twice", "two columns have this name; remove or rename one")
		}
		seen[h] = true
	}
	return nil
}

// trimEnd cuts empty cells off the end, which spreadsheets leave behind.
func trimEnd(cells []string) []string {
	n := len(cells)
	for n > 0 && strings.TrimSpace(cells[n-1]) == "" {
		n--
	}
	return cells[:n]
}

func stem(path string) string {
	base := filepath.Base(filepath.ToSlash(path))
	return strings.TrimSuffix(base, filepath.Ext(base))
}

package export

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"

	"injtab/tables"
)

// CSV writes a table by RFC 4180 with LF: a header, then a line for each row.
// Numbers have the digits of their column, a cell without a value is empty, and
// a text that a spreadsheet would run as a formula gets a leading apostrophe.
func CSV(w io.Writer, t tables.Table) error {
	if err := check(t); err != nil {
		return err
	}
	out := csv.NewWriter(w)
	out.Write(header(t)) // errors wait in out.Error
	for r := range t.Cells {
		line := []string{textOrNumber(rowText(t, r), t.Row.Text)}
		for c, col := range t.Cols {
			line = append(line, textOrNumber(cellText(t, r, c), col.Text))
		}
		out.Write(line)
	}
	out.Flush()
	return out.Error()
}

func header(t tables.Table) []string {
	line := []string{guard(corner(t))}
	for _, c := range t.Cols {
		line = append(line, textOrNumber(c.Name, !isNumber(c.Name)))
	}
	return line
}

// Cells writes every cell of the tables in long form: what it rests on beside
// its value. The half-width is empty where none applies.
func Cells(w io.Writer, list []tables.Table) error {
	out := csv.NewWriter(w)
	out.Write(cellsHeader)
	for _, t := range list {
		if err := check(t); err != nil {
			return err
		}
		for r, row := range t.Cells {
			for c, cell := range row {
				col := t.Cols[c]
				out.Write([]string{
					guard(t.Name),
					textOrNumber(rowText(t, r), t.Row.Text),
					textOrNumber(col.Name, !isNumber(col.Name)),
					textOrNumber(cellText(t, r, c), col.Text),
					guard(col.Unit),
					halfWidth(cell, col),
					cell.Basis.String(),
					cell.Status.String(),
				})
			}
		}
	}
	out.Flush()
	return out.Error()
}

var cellsHeader = []string{"table", "row", "column", "value", "unit", "ci95", "basis", "status"}

func textOrNumber(s string, text bool) string {
	if text {
		return guard(s)
	}
	return s
}

// guard puts an apostrophe before a text that a spreadsheet would run, and before
// one that unguard would otherwise shorten. Line ends become LF, as reading gives.
func guard(s string) string {
	s = lf(s)
	if s != "" && runnable(s[0]) || guarded(s) {
		return "'" + s
	}
	return s
}

// lf leaves no CR before an LF, which reading would take away.
func lf(s string) string {
	for strings.Contains(s, "\r\n") {
		s = strings.ReplaceAll(s, "\r\n", "\n")
	}
	return s
}

// unguard undoes guard.
func unguard(s string) string {
	if guarded(s) {
		return s[1:]
	}
	return s
}

func runnable(b byte) bool { return strings.IndexByte("=+-@\t\r", b) >= 0 }

func guarded(s string) bool {
	return len(s) > 1 && s[0] == '\'' && (s[1] == '\'' || runnable(s[1]))
}

func isNumber(s string) bool {
	_, err := strconv.ParseFloat(s, 64)
	return err == nil && strings.IndexFunc(s, notOfNumber) < 0
}

// notOfNumber finds what ParseFloat would take but no table holds: names such as
// "inf", digit separators, hexadecimal digits.
func notOfNumber(r rune) bool { return !strings.ContainsRune("0123456789.+-eE", r) }

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
	line := header(t)
	out.Write(line) // errors wait in out.Error
	for r := range t.Cells {
		line = append(line[:0], textOrNumber(rowText(t, r), t.Row.Text))
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
	if strings.IndexFunc(s, notOfNumber) >= 0 {
		return false
	}
	_, err := strconv.ParseFloat(s, 64)
	return err == nil
}

// notOfNumber finds what ParseFloat would take but no table holds: names such as
// "inf", digit separators, hexadecimal digits.
func notOfNumber(r rune) bool { return !strings.ContainsRune("0123456789.+-eE", r) }

package tables

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"injtab/fit/diag"
)

// textTable is a table of texts: a name in each row, then one text a column.
func textTable(name, title, about string, header []string, rows [][]string) Table {
	t := Table{Name: name, Title: title, About: about, Corner: header[0], Row: textColumn(header[0])}
	for _, h := range header[1:] {
		t.Cols = append(t.Cols, textColumn(h))
	}
	for _, row := range rows {
		t.RowText = append(t.RowText, row[0])
		line := make([]Cell, 0, len(row)-1)
		for _, text := range row[1:] {
			line = append(line, Cell{Text: text})
		}
		t.Cells = append(t.Cells, line)
	}
	return t
}

func textColumn(name string) Column { return Column{Name: name, Title: Capital(name), Text: true} }

// Capital begins a header with a capital letter.
func Capital(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(first)) + s[n:]
}

// inSentence begins a name with a small letter, unless it is a code such as E85.
func inSentence(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	if second, _ := utf8.DecodeRuneInString(s[n:]); !unicode.IsLower(second) {
		return s
	}
	return string(unicode.ToLower(first)) + s[n:]
}

// injectorColumn heads the rows of a table with a row for each injector.
func injectorColumn() Column {
	return Column{Name: "injector", Title: "Injector", Text: true, About: "What is written on it."}
}

// listed writes names as a sentence does: "3, 7 and 12".
func listed(names []string) string {
	if n := len(names); n > 1 {
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
	return strings.Join(names, "")
}

// counted writes a number with its noun: "1 reading", "2 readings".
func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// sentences are the messages of notes, with their places.
func sentences(notes []diag.Note) []string {
	out := make([]string, len(notes))
	for i, n := range notes {
		out[i] = n.Error()
	}
	return out
}

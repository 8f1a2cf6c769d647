package export

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"io"
	"strings"

	"injtab/tables"
)

// Cells writes every cell of the tables in long form: what it rests on beside
// its value. The half-width is empty where none applies.
func Cells(w io.Writer, list []tables.Table) error {
	out := cellWriter{out: bufio.NewWriter(w), fields: newFields()}
	out.out.WriteString(out.fields.join(cellsHeader...) + "\n") // errors wait in Flush
	for _, t := range list {
		if err := check(t); err != nil {
			return err
		}
		out.table(t)
	}
	return out.out.Flush()
}

var cellsHeader = []string{"table", "row", "column", "value", "unit", "ci95", "basis", "status"}

// A cellWriter writes a line a cell. What the lines of a row or a column have in common is
// made once: the 865,000 cells of an archive of 5000 injectors take half the time, hash and disk
// among it.
type cellWriter struct {
	out    *bufio.Writer
	fields *fields
	line   []byte
}

func (w *cellWriter) table(t tables.Table) {
	names, units := make([]string, len(t.Cols)), make([]string, len(t.Cols))
	for c, col := range t.Cols {
		names[c] = w.fields.join(textOrNumber(col.Name, !isNumber(col.Name)))
		units[c] = w.fields.join(guard(col.Unit))
	}
	for r, row := range t.Cells {
		place := w.fields.join(guard(t.Name), textOrNumber(rowText(t, r), t.Row.Text))
		for c, cell := range row {
			value := cellText(t, r, c) // a number needs no quotes
			if t.Cols[c].Text {
				value = w.fields.join(guard(value))
			}
			w.write(place, names[c], value, units[c], halfWidth(cell, t.Cols[c]), cell.Basis.String(), cell.Status.String())
		}
	}
}

// write writes a line of fields.
func (w *cellWriter) write(first string, others ...string) {
	w.line = append(w.line[:0], first...)
	for _, s := range others {
		w.line = append(append(w.line, ','), s...)
	}
	w.out.Write(append(w.line, '\n'))
}

// fields makes fields of CSV of texts.
type fields struct {
	text bytes.Buffer
	out  *csv.Writer
}

func newFields() *fields {
	f := new(fields)
	f.out = csv.NewWriter(&f.text)
	return f
}

// join gives the fields with commas between, quoted where they need it.
func (f *fields) join(texts ...string) string {
	f.text.Reset()
	f.out.Write(texts) // a buffer takes all
	f.out.Flush()
	return strings.TrimSuffix(f.text.String(), "\n")
}

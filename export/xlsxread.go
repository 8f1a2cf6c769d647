package export

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"injtab/fit/diag"
	"injtab/tables"
)

// ReadWorkbook reads the tables of a workbook that Workbook wrote, in their order,
// with the values of the cells alone. A damaged part can make the library panic; that
// is bad input, not a mistake of the program.
func ReadWorkbook(r io.Reader) (list []tables.Table, err error) {
	defer func() {
		if p := recover(); p != nil {
			list, err = nil, fmt.Errorf("a part of this workbook makes no sense: %v", p)
		}
	}()
	f, err := excelize.OpenReader(r, excelize.Options{RawCellValue: true, UnzipSizeLimit: 1 << 28, UnzipXMLSizeLimit: 1 << 28})
	if err != nil {
		return nil, fmt.Errorf("this is no workbook (XLSX) that can be read: %w", err)
	}
	defer f.Close()
	if err := orderly(f); err != nil {
		return nil, err
	}
	for _, name := range f.GetDefinedName() {
		table, ok := strings.CutSuffix(name.Name, "_table")
		if !ok {
			continue
		}
		t, err := readNamed(f, name.RefersTo)
		if err != nil {
			return nil, err
		}
		t.Name = table
		list = append(list, t)
	}
	if len(list) == 0 {
		return nil, errors.New("this workbook names no tables; expected one written by " + Tool)
	}
	return list, nil
}

// readNamed reads the cells of 'dead_time'!$A$4:$D$9.
func readNamed(f *excelize.File, refersTo string) (tables.Table, error) {
	i := strings.LastIndex(refersTo, "!")
	if i < 0 {
		return tables.Table{}, fmt.Errorf("the workbook names a table at %q, which is no range of cells", shown(refersTo))
	}
	name := strings.ReplaceAll(strings.Trim(refersTo[:i], "'"), "''", "'")
	from, to, _ := strings.Cut(strings.ReplaceAll(refersTo[i+1:], "$", ""), ":")
	col0, row0, err0 := excelize.CellNameToCoordinates(from)
	col1, row1, err1 := excelize.CellNameToCoordinates(to)
	if err := errors.Join(err0, err1); err != nil || col1-col0 > 1000 || row1-row0 > mostRows {
		return tables.Table{}, fmt.Errorf("the workbook names a table at %q, which is no range of cells", shown(refersTo))
	}
	s := sheet{sheet: name}
	for row := row0; row <= row1; row++ {
		l := line{number: row}
		for col := col0; col <= col1; col++ {
			text, err := readCell(f, name, at(col, row))
			if err != nil {
				return tables.Table{}, diag.Fail(diag.Place{Sheet: name, Line: row}, "unreadable", "this cell can't be read: %v", err)
			}
			l.cells = append(l.cells, text)
		}
		if row == row0 {
			s.header = l
		} else {
			s.lines = append(s.lines, l)
		}
	}
	if err := s.whole(); err != nil {
		return tables.Table{}, err
	}
	return s.table()
}

// readCell gives a cell as CSV has it, so that both are read by the same rules.
func readCell(f *excelize.File, sheet, cell string) (string, error) {
	text, err := f.GetCellValue(sheet, cell)
	if err != nil {
		return "", err
	}
	kind, err := f.GetCellType(sheet, cell)
	if kind == excelize.CellTypeSharedString || kind == excelize.CellTypeInlineString {
		text = guard(text)
	}
	return text, err
}

// orderly refuses sheets that the library would take hours or all memory for: it
// puts rows without a number, or with that of another one, in their places one by one.
func orderly(f *excelize.File) (err error) {
	f.Pkg.Range(func(name, part any) bool {
		if data, ok := part.([]byte); ok && strings.HasPrefix(strings.ToLower(name.(string)), "xl/worksheets/") {
			err = rowsRise(data)
		}
		return err == nil
	})
	return err
}

func rowsRise(part []byte) error {
	d := xml.NewDecoder(bytes.NewReader(part))
	last := 0
	for {
		token, err := d.RawToken()
		if err != nil { // the end; damage is told of where the cells are read
			return nil
		}
		start, ok := token.(xml.StartElement)
		if !ok || start.Name.Local != "row" {
			continue
		}
		row := 0
		for _, a := range start.Attr {
			if a.Name.Local == "r" {
				row, _ = strconv.Atoi(a.Value)
			}
		}
		if row <= last || row > mostRows {
			return fmt.Errorf("a sheet of this workbook has rows that are not numbered one after another from 1 to %d at most", mostRows)
		}
		last = row
	}
}

const mostRows = 100_000

// AsInWorkbook gives tables their texts as a workbook shows them, to be compared with
// those that were read from one.
func AsInWorkbook(list []tables.Table) []tables.Table {
	out := slices.Clone(list)
	for i := range out {
		t := &out[i]
		t.RowText, t.Cols, t.Cells = slices.Clone(t.RowText), slices.Clone(t.Cols), slices.Clone(t.Cells)
		for r := range t.RowText {
			t.RowText[r] = inCell(t.RowText[r])
		}
		for c := range t.Cols {
			t.Cols[c].Name = inCell(t.Cols[c].Name)
		}
		for r := range t.Cells {
			t.Cells[r] = slices.Clone(t.Cells[r])
			for c := range t.Cells[r] {
				t.Cells[r][c].Text = inCell(t.Cells[r][c].Text)
			}
		}
	}
	return out
}

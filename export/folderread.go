package export

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"injtab/fit/diag"
	"injtab/tables"
)

// Folder is a folder of tables read back.
type Folder struct {
	Manifest Manifest
	State    FolderState
	Tables   []tables.Table // in the manifest's order, those that are missing left out
}

// ReadFolder reads the tables that a folder's manifest lists, with titles and
// units from the manifest and what each cell rests on from cells.csv. A cell
// that was edited since counts as assumed, without an interval.
func ReadFolder(dir string) (Folder, error) {
	m, err := ReadManifest(dir)
	if err != nil {
		return Folder{}, err
	}
	f := Folder{Manifest: m}
	if f.State, err = m.Check(dir); err != nil {
		return Folder{}, err
	}
	for _, r := range m.Resources {
		if r.Schema == nil || r.Path == "cells.csv" {
			continue
		}
		t, err := readFile(filepath.Join(dir, filepath.FromSlash(r.Path)), ReadCSV)
		if errors.Is(err, fs.ErrNotExist) {
			continue // State.Missing has it
		}
		if err != nil {
			return Folder{}, err
		}
		describe(&t, r)
		f.Tables = append(f.Tables, t)
	}
	return f, f.annotate(filepath.Join(dir, "cells.csv"))
}

// annotate gives the cells of the tables what cells.csv says of them.
func (f *Folder) annotate(path string) error {
	ordered, err := readFile(path, f.inOrder)
	if errors.Is(err, fs.ErrNotExist) || ordered {
		return nil
	}
	rests, err := readFile(path, readCells)
	if err != nil {
		return err
	}
	for i := range f.Tables {
		rests.annotate(&f.Tables[i])
	}
	return nil
}

// describe adds to a table what its file can't say, matched by header.
func describe(t *tables.Table, r Resource) {
	t.Title, t.About = r.Title, r.Description
	fields := map[string]Field{}
	for _, f := range r.Schema.Fields {
		fields[f.Name] = f
	}
	fill := func(c *tables.Column, header string) {
		if f, ok := fields[header]; ok {
			c.Title, c.Unit, c.UCUM, c.About = f.Title, f.UnitText, f.Unit, f.Description
		}
	}
	fill(&t.Row, t.Corner)
	for i := range t.Cols {
		fill(&t.Cols[i], t.Cols[i].Name)
	}
}

// readCells reads cells.csv as a sheet and finds its columns.
func readCells(r io.Reader, name string) (cellNotes, error) {
	s, err := readSheet(r, name)
	if err != nil {
		return nil, err
	}
	for i, want := range cellsHeader {
		if i >= len(s.header.cells) || s.header.cells[i] != want {
			return nil, s.fail(s.header.number, "", "header", "expected the columns table, row, column, value, unit, ci95, basis, status in this order")
		}
	}
	notes := cellNotes{}
	for _, l := range s.lines {
		cell, err := s.note(l)
		if err != nil {
			return nil, err
		}
		key := cellKey{unguard(l.cells[0]), unguard(l.cells[1]), unguard(l.cells[2])}
		notes[key] = append(notes[key], noted{unguard(l.cells[3]), cell})
	}
	return notes, nil
}

// note reads what one cell rests on.
func (s sheet) note(l line) (tables.Cell, error) {
	var cell tables.Cell
	var ok bool
	if text := l.cells[5]; text != "" {
		if cell.CI95, _, ok = s.number(text); !ok || cell.CI95 < 0 {
			return cell, s.fail(l.number, "ci95", "not_a_number", "read %q, expected a number of 0 or more, or an empty cell", shown(text))
		}
	}
	if cell.Basis, ok = diag.ParseBasis(l.cells[6]); !ok {
		return cell, s.fail(l.number, "basis", "unknown_word", "read %q, expected measured, interpolated, extrapolated or assumed", shown(l.cells[6]))
	}
	if cell.Status, ok = diag.ParseStatus(l.cells[7]); !ok {
		return cell, s.fail(l.number, "status", "unknown_word", "read %q, expected ok, unreliable, does_not_open or not_measured", shown(l.cells[7]))
	}
	return cell, nil
}

type (
	cellKey struct{ table, row, column string }
	noted   struct {
		text string
		cell tables.Cell
	}
	cellNotes map[cellKey][]noted // several where rows have the same text, in order

)

// annotate gives each cell its interval, basis and status.
func (notes cellNotes) annotate(t *tables.Table) {
	used := map[cellKey]int{}
	for r, row := range t.Cells {
		for c := range row {
			key := cellKey{t.Name, rowText(*t, r), t.Cols[c].Name}
			known, n := notes[key], used[key]
			used[key]++
			cell := &row[c]
			if n >= len(known) || known[n].text != cellText(*t, r, c) {
				cell.Basis = diag.Assumed
				continue
			}
			cell.CI95, cell.Basis, cell.Status = known[n].cell.CI95, known[n].cell.Basis, known[n].cell.Status
		}
	}
}

func readFile[T any](path string, read func(io.Reader, string) (T, error)) (T, error) {
	f, err := os.Open(path)
	if err != nil {
		var none T
		return none, fmt.Errorf("%s can't be read: %w", path, cause(err))
	}
	defer f.Close()
	return read(f, path)
}

package main

import (
	"archive/zip"
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

// A page is one sheet of a workbook, from its first row.
type page struct {
	name string
	rows [][]any
}

var goodRows = [][]any{
	{"injector", "pulse_ms", "period_ms", "shots", "volume_ml", "pressure_kpa", "voltage_v"},
	{"L1", 2.5, 10, 3000, 24.0, 300, 13.5},
	{"L1", 4, 10, 3000, 46.5, 300, 13.5},
	{"L2", 2.5, 10, 3000, 24.4, 300, 13.5},
	{"L2", 4, 10, 3000, 47.0, 300, 13.5},
}

// with puts a value into row and column (from 0) of the good rows.
func with(row, col int, v any) [][]any {
	rows := make([][]any, len(goodRows))
	for r := range rows {
		rows[r] = append([]any{}, goodRows[r]...)
	}
	rows[row][col] = v
	return rows
}

func book(t *testing.T, pages ...page) *excelize.File {
	t.Helper()
	f := excelize.NewFile()
	for _, p := range pages {
		if _, err := f.NewSheet(p.name); err != nil {
			t.Fatal(err)
		}
		for r, row := range p.rows {
			cell, _ := excelize.CoordinatesToCellName(1, r+1)
			if err := f.SetSheetRow(p.name, cell, &row); err != nil {
				t.Fatal(err)
			}
		}
	}
	if pages[0].name != "Sheet1" {
		if err := f.DeleteSheet("Sheet1"); err != nil {
			t.Fatal(err)
		}
	}
	return f
}

func bookBytes(t *testing.T, f *excelize.File, o ...excelize.Options) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := f.Write(&b, o...); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// edited is a workbook of the good rows with something done to its sheet.
func edited(t *testing.T, edit func(*excelize.File) error) []byte {
	t.Helper()
	f := book(t, page{"readings", goodRows})
	if err := edit(f); err != nil {
		t.Fatal(err)
	}
	return bookBytes(t, f)
}

func zipped(t *testing.T, names ...string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, name := range names {
		w, err := z.Create(name)
		if err == nil {
			_, err = w.Write([]byte("injector,pulse_ms\n"))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// badBooks are workbooks as people send them, by the name of the file.
func badBooks(t *testing.T) map[string][]byte {
	sheets := func(pages ...page) []byte { return bookBytes(t, book(t, pages...)) }
	setup := func(rows ...[]any) []byte { return sheets(page{"readings", goodRows}, page{"setup", rows}) }
	good := sheets(page{"readings", goodRows})
	return map[string][]byte{
		"sheets_two_and_none_named.xlsx": sheets(page{"Monday", goodRows}, page{"Tuesday", goodRows}),
		"sheets_only_setup.xlsx":         sheets(page{"setup", [][]any{{"fluid", "n-heptane"}}}),
		"sheets_empty.xlsx":              sheets(page{"readings", nil}),
		"sheets_only_header.xlsx":        sheets(page{"readings", goodRows[:1]}),
		"cells_merged.xlsx":              edited(t, func(f *excelize.File) error { return f.MergeCell("readings", "A2", "A3") }),
		"cells_formula_never_worked.xlsx": edited(t, func(f *excelize.File) error {
			return errors.Join(f.SetCellValue("readings", "E3", nil), f.SetCellFormula("readings", "E3", "24+22.5"))
		}),
		"cells_error.xlsx":                 sheets(page{"readings", with(2, 4, "#DIV/0!")}),
		"cells_date_for_a_pulse.xlsx":      sheets(page{"readings", with(2, 1, time.Date(2024, 5, 4, 0, 0, 0, 0, time.UTC))}),
		"cells_date_in_words.xlsx":         sheets(page{"readings", with(2, 1, "4. May")}),
		"cells_text_with_unit.xlsx":        sheets(page{"readings", with(2, 4, "46.5 ml")}),
		"cells_negative.xlsx":              sheets(page{"readings", with(2, 4, -46.5)}),
		"cells_empty_voltage.xlsx":         sheets(page{"readings", with(2, 6, nil)}),
		"cells_beyond_the_table.xlsx":      edited(t, func(f *excelize.File) error { return f.SetCellValue("readings", "J3", "clicks twice") }),
		"cells_hidden_row.xlsx":            edited(t, func(f *excelize.File) error { return f.SetRowVisible("readings", 3, false) }),
		"rows_all_in_one_column.xlsx":      sheets(page{"readings", [][]any{{"injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v"}, {"L1,2.5,10,3000,24,300,13.5"}}}),
		"rows_header_twice.xlsx":           sheets(page{"readings", append(append([][]any{}, goodRows...), goodRows[0])}),
		"rows_units_below_header.xlsx":     sheets(page{"readings", append([][]any{goodRows[0], {"", "ms", "ms", "", "ml", "kPa", "V"}}, goodRows[1:]...)}),
		"rows_mean_at_the_end.xlsx":        sheets(page{"readings", append(append([][]any{}, goodRows...), []any{"mean", nil, nil, nil, 35.5})}),
		"rows_turned_on_its_side.xlsx":     sheets(page{"readings", [][]any{{"injector", "L1", "L2"}, {"pulse_ms", 2.5, 2.5}, {"period_ms", 10, 10}, {"shots", 3000, 3000}, {"volume_ml", 24, 24.4}}}),
		"header_unit_does_not_fit.xlsx":    sheets(page{"readings", with(0, 1, "pulse_s")}),
		"header_typo.xlsx":                 sheets(page{"readings", with(0, 5, "presure_kpa")}),
		"setup_unknown_name.xlsx":          setup([]any{"bench", "garage"}),
		"setup_unit_behind_number.xlsx":    setup([]any{"clamp_v", "36 V"}),
		"setup_twice.xlsx":                 setup([]any{"clamp_v", 36}, []any{"clamp_v", 65}),
		"setup_and_column.xlsx":            setup([]any{"voltage_v", 13.5}),
		"setup_unknown_fluid.xlsx":         setup([]any{"fluid", "paint thinner"}),
		"file_password.xlsx":               bookBytes(t, book(t, page{"readings", goodRows}), excelize.Options{Password: "bench"}),
		"file_cut_off.xlsx":                good[:len(good)/2],
		"file_zip_of_a_csv.xlsx":           zipped(t, "bench.csv"),
		"file_text_document.xlsx":          zipped(t, "[Content_Types].xml", "word/document.xml"),
		"file_open_document.xlsx":          zipped(t, "mimetype", "content.xml"),
		"file_binary_workbook.xlsx":        zipped(t, "[Content_Types].xml", "xl/workbook.bin"),
		"file_workbook_without_parts.xlsx": zipped(t, "[Content_Types].xml", "xl/workbook.xml"),
		"~$file_lock.xlsx":                 []byte("\x05Bench"),
		"file_csv_named_xlsx.xlsx":         []byte(strings.Repeat("L1 2.5 10\n", 3)),
	}
}

// TestBadBooks is TestBadFiles for workbooks.
func TestBadBooks(t *testing.T) {
	golden := newSections(t, "book")
	books := badBooks(t)
	t.Chdir(t.TempDir())
	for name, data := range books {
		if err := os.WriteFile(name, data, 0o666); err != nil {
			t.Fatal(err)
		}
		t.Run(name, func(t *testing.T) { golden.compare(t, name, say("check", filepath.Base(name))) })
	}
	golden.finish(t)
}

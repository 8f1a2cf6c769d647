package bench_test

import (
	"bytes"
	"errors"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"injtab/fit/bench"
	"injtab/fit/diag"
	"injtab/fit/diag/diagtest"
)

// ofWholeFile are the errors that belong to no line of a text file: the others name
// one.
var ofWholeFile = map[string]bool{"empty": true, "encoding": true, "not-a-table": true, "old-workbook": true, "not-xlsx": true,
	"damaged": true, "no-sheet": true, "too-large": true, "more-errors": true}

// mustRead demands of any input, within bounds of time and memory: errors in their
// place and no sheet beside them, or readings that can be, numbers in all that a
// check makes of them, and the same readings again when they are written and read.
func mustRead(t *testing.T, data []byte, name string) {
	var s bench.Sheet
	var err error
	diagtest.Bounded(t, len(data), func() { s, err = bench.Read(bytes.NewReader(data), name) })
	if err != nil {
		for _, n := range diagtest.Notes(t, err, name) {
			if n.Place.Line < 1 && !ofWholeFile[n.Code] {
				t.Errorf("%+v names no line", n)
			}
		}
		if diff := cmp.Diff(bench.Sheet{}, s, listed); diff != "" {
			t.Errorf("a sheet beside an error: %s", diff)
		}
		return
	}
	if s.Readings.Len() == 0 {
		t.Error("no readings and no error")
	}
	for _, r := range s.Readings.All() {
		for _, x := range []float64{float64(r.Pulse), float64(r.Period), r.Shots, float64(r.Volume), float64(r.Mass), float64(r.Pressure), float64(r.Voltage), float64(r.Temp), float64(r.PerShot())} {
			if !(x >= 0 && x < 1e15) {
				t.Fatalf("%+v has a quantity that can't be", r)
			}
		}
	}
	diagtest.Bounded(t, len(data), func() { checkFinite(t, s) })
	if returns(s) {
		if diff := cmp.Diff(s, written(t, s), content...); diff != "" {
			t.Error(diff)
		}
	}
}

// returns tells whether a sheet can be written at all: no CSV file keeps a carriage
// return in a text.
func returns(s bench.Sheet) bool {
	var n diag.Note
	err := bench.WriteCSV(io.Discard, s)
	return !errors.As(err, &n) || n.Code != "unwritable"
}

// benchFiles are the bench files of testdata.
func benchFiles(f *testing.F) (texts [][]byte) {
	f.Helper()
	for _, pattern := range []string{"bench/good/*", "bench/bad/*", "bad/bench/*"} {
		files, err := filepath.Glob(filepath.Join("../../testdata", pattern))
		if err != nil || len(files) == 0 {
			f.Fatalf("%s: %d files, %v", pattern, len(files), err)
		}
		for _, file := range files {
			data, err := os.ReadFile(file)
			if err != nil {
				f.Fatal(err)
			}
			texts = append(texts, data)
		}
	}
	return texts
}

// FuzzRead reads any bytes as a bench file.
func FuzzRead(f *testing.F) {
	for _, data := range benchFiles(f) {
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) { mustRead(t, data, "fuzz.csv") })
}

// FuzzReadLong reads rows below the header of a long table with every column.
func FuzzReadLong(f *testing.F) {
	for _, row := range []string{
		"7,2.5,10,3000,64.5,300,13.5,20,A,1,0.5,B,12.6,ok", "7,0,10,3000,0,300,,,,,,,,leak", `"=7",10,10,500,82,43.5,12,,,,,,,"a ""b"", c"`,
		"7;2,5;10;3000;64,5;300;13,5", "-1,2,10,nan,1e9,0x1p3,inf", "7,2.5,10,1.000,64.5,300,13.5\n7,2.5,10,1.000,64.5,300,13.5",
	} {
		f.Add(row)
	}
	f.Fuzz(func(t *testing.T, rows string) {
		header := "injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v,temp_c,run,slot,division_ml,vessel,resistance_ohm,note\n"
		mustRead(t, []byte(header+"1,4,10,3000,86.6,300,13.5\n"+rows), "fuzz.csv")
	})
}

// FuzzReadWide reads a table with a column for each injector: their names, and rows.
func FuzzReadWide(f *testing.F) {
	for _, part := range [][2]string{
		{"1,2,3,10", "2,50,80,36.8,35.9,36.7,35.5\n4,50,40,48.5,47.9,,47.5"}, {`"B, left",B 2`, "2,50,80,36.8,35.9"}, {"1,1", "2,50,80,1,1"},
		{"flow_ml,=1+1", "4,50,40,48.5,0"}, {"1;2", "4;50;40;48,5;47,9"}, {"presure_kpa", "4,50,40,300"}, {"", "4,50,40"},
	} {
		f.Add(part[0], part[1])
	}
	f.Fuzz(func(t *testing.T, names, rows string) {
		top := "# reading = volume_cc\n# voltage_v = 13.5\n# pressure_kpa = 300\npulse_ms,frequency_hz,duration_s,"
		mustRead(t, []byte(top+names+"\n"+rows), "fuzz.csv")
	})
}

// TestMemoryFollowsTheFile: many columns by many empty rows are no readings.
func TestMemoryFollowsTheFile(t *testing.T) {
	header := "pulse_ms,period_ms,shots,pressure_kpa,voltage_v"
	for i := range 20000 {
		header += ",i" + strconv.Itoa(i)
	}
	mustRead(t, []byte(header+"\n2,10,3000,300,13.5,40\n"+strings.Repeat("\n", 20000)), "fuzz.csv")
}

// FuzzReadSetup reads setup lines above a table that is good by itself.
func FuzzReadSetup(f *testing.F) {
	for _, data := range benchFiles(f) {
		top, _, _ := strings.Cut(string(data), "\ninjector")
		f.Add(top)
	}
	f.Add("# fluid = n-heptane\n# density_kg_m3 = 684\n# title = '=1+1\n# injectors = 1, \"B, left\"\n# clamp_v = 40\n# wiring_drop_v = 0,5")
	f.Fuzz(func(t *testing.T, top string) {
		mustRead(t, []byte(top+"\ninjector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v\n7,2.5,10,3000,64.5,300,13.5\n"), "fuzz.csv")
	})
}

// FuzzReadWorkbook reads any bytes as a workbook.
func FuzzReadWorkbook(f *testing.F) {
	for _, sheets := range []map[string][][]any{
		{"readings": {titles(), {7, 2.5, 10, 3000, 64.5, 300, 13.5}}, "setup": {{"title", "x"}}},
		{"a": {{"x"}, titles(), {7, "2,5", nil, 3000, "=1+1", 300, 13.5}}},
	} {
		data := book(f, sheets)
		f.Add(data)
		f.Add(diagtest.Zip(f, diagtest.Unzip(f, data)))
	}
	f.Fuzz(func(t *testing.T, data []byte) { mustRead(t, data, "fuzz.xlsx") })
}

// FuzzReadSheet reads a workbook whose sheet and texts are any XML, so that what is
// tried is not refused for a wrong checksum alone.
func FuzzReadSheet(f *testing.F) {
	whole := book(f, map[string][][]any{"readings": {titles(), {7, 2.5, 10, 3000, 64.5, 300, 13.5}, {"B", 0, 10, 3000, "=0*1", 300, nil}}})
	const sheetPart, textPart = "xl/worksheets/sheet2.xml", "xl/sharedStrings.xml"
	parts := diagtest.Unzip(f, whole)
	sheet, texts := parts[sheetPart], parts[textPart]
	if len(sheet) == 0 || len(texts) == 0 {
		f.Fatalf("the workbook has the parts %v", slices.Sorted(maps.Keys(parts)))
	}
	f.Add(sheet, texts)
	f.Add(strings.ReplaceAll(sheet, "<row ", `<row hidden="1" `), texts)
	f.Add(strings.ReplaceAll(sheet, `r="2"`, `r="1048576"`), texts)
	f.Add(sheet, `<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "c">]><sst><si><t>&b;</t></si></sst>`)
	f.Fuzz(func(t *testing.T, sheet, texts string) {
		parts[sheetPart], parts[textPart] = sheet, texts
		mustRead(t, diagtest.Zip(t, parts), "fuzz.xlsx")
	})
}

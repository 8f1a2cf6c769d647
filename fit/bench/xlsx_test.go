package bench_test

import (
	"archive/zip"
	"bytes"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"injtab/fit/bench"
	"injtab/fit/diag/diagtest"
)

// book makes a workbook; a cell that begins with = is a formula with the value 64.5
// saved beside it.
func book(t testing.TB, sheets map[string][][]any, edit ...func(*excelize.File)) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	check := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	for name, rows := range sheets {
		_, err := f.NewSheet(name)
		check(err)
		for i, cells := range rows {
			for j, v := range cells {
				at, err := excelize.CoordinatesToCellName(j+1, i+1)
				check(err)
				if text, ok := v.(string); ok && strings.HasPrefix(text, "=") {
					check(f.SetCellValue(name, at, 64.5))
					check(f.SetCellFormula(name, at, text))
					continue
				}
				if v != nil {
					check(f.SetCellValue(name, at, v))
				}
			}
		}
	}
	if _, keep := sheets["Sheet1"]; !keep {
		check(f.DeleteSheet("Sheet1"))
	}
	for _, e := range edit {
		e(f)
	}
	var b bytes.Buffer
	check(f.Write(&b))
	return b.Bytes()
}

func titles() []any {
	return []any{"injector", "pulse_ms", "period_ms", "shots", "volume_ml", "pressure_kpa", "voltage_v"}
}

func TestReadWorkbook(t *testing.T) {
	plain := []any{7, 2.5, 10, 3000, 64.5, 300, 13.5}
	for name, data := range map[string][]byte{
		"readings":    book(t, map[string][][]any{"Readings": {titles(), plain}, "notes": {{"x"}}, "photos": {}}),
		"only sheet":  book(t, map[string][][]any{"Blad 1": {titles(), plain}}),
		"and setup":   book(t, map[string][][]any{"bench": {titles(), plain}, "setup": {{"key", "value"}, {"title", "x"}}}),
		"texts":       book(t, map[string][][]any{"readings": {titles(), {"7", "2,5", "10", "3000", "64,5", 300, "13.5"}}}),
		"formula":     book(t, map[string][][]any{"readings": {titles(), {7, 2.5, 10, 3000, "=129/2", 300, 13.5}}}),
		"lower down":  book(t, map[string][][]any{"readings": {{"Bench session"}, {}, {nil, "March"}, titles(), {}, plain, {}}}),
		"setup lines": book(t, map[string][][]any{"readings": {{"# pressure_kpa = 300"}, {"# voltage_v =", 13.5}, titles()[:5], plain[:5]}}),
		"setup sheet": book(t, map[string][][]any{"readings": {titles()[:5], plain[:5]}, "Setup": {{"key", "value", "remark"}, {"pressure_bar", 3, "by the gauge"}, {"# voltage_v", "13,5"}, {}, {"clamp_v"}}}),
		"merged title": book(t, map[string][][]any{"readings": {{"Bench session of an afternoon"}, titles(), plain}}, func(f *excelize.File) {
			if err := f.MergeCell("readings", "A1", "G1"); err != nil {
				t.Fatal(err)
			}
		}),
	} {
		t.Run(name, func(t *testing.T) {
			s, err := bench.Read(bytes.NewReader(data), "b.xlsx")
			if err != nil {
				t.Fatal(err)
			}
			if len(s.Readings) != 1 || s.Missing != 0 {
				t.Fatalf("got %d readings, %d missing, want 1 and 0", len(s.Readings), s.Missing)
			}
			r := s.Readings[0]
			if r.Injector != "7" || !near(r.Pulse.Ms(), 2.5) || !near(r.Period.Ms(), 10) || !near(r.Shots, 3000) ||
				!near(r.Volume.Ml(), 64.5) || !near(r.Pressure.KPa(), 300) || !near(r.Voltage.V(), 13.5) {
				t.Errorf("got %+v", r)
			}
		})
	}
}

func TestReadWorkbookWide(t *testing.T) {
	data := book(t, map[string][][]any{"readings": {
		{"pulse_ms", "period_ms", "shots", "pressure_kpa", "voltage_v", 1, 2, 10},
		{2.5, 10, 3000, 300, 13.5, 64.5, nil, 0},
		{4, 10, 3000, 300, 13.5, nil, nil, nil},
	}}, func(f *excelize.File) {
		if err := f.SetRowVisible("readings", 2, false); err != nil {
			t.Fatal(err)
		}
	})
	s, err := bench.Read(bytes.NewReader(data), "b.xlsx")
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Readings) != 2 || s.Missing != 4 || !s.Wide {
		t.Fatalf("got %d readings, %d missing, want 2 and 4", len(s.Readings), s.Missing)
	}
	if got, want := s.At(s.Readings[1]).String(), "b.xlsx, sheet readings, line 2, column 10 (H)"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if len(s.Notes) != 1 || s.Notes[0].Code != "hidden-rows" {
		t.Errorf("notes %v, want one about hidden rows", s.Notes)
	}
}

// bomb claims, in the directory of a workbook, that a part unfolds to 3 GiB.
func bomb(t *testing.T) []byte {
	t.Helper()
	data := diagtest.Zip(t, map[string]string{"xl/workbook.xml": "x"})
	directory := bytes.LastIndex(data, []byte("PK\x01\x02"))
	copy(data[directory+24:], []byte{0, 0, 0, 0xC0}) // uncompressed size, APPNOTE.TXT 4.3.12
	return data
}

func TestReadWorkbookErrors(t *testing.T) {
	good := book(t, map[string][][]any{"readings": {titles(), {7, 2.5, 10, 3000, 64.5, 300, 13.5}}})
	for _, c := range []struct {
		name, file string
		data       []byte
		want       string
	}{
		{"cut off", "b.xlsx", good[:len(good)/2], "b.xlsx: …cut off or damaged"},
		{"bomb", "b.xlsx", bomb(t), "b.xlsx: …unfolds to more than 1024 MB"},
		{"lock file", "folder/~$b.xlsx", []byte("\x05owner"), "folder/~$b.xlsx: this is the lock file"},
		{"other archive", "b.zip", diagtest.Zip(t, map[string]string{"b.csv": head}), "zip archive but no workbook"},
		{"OpenDocument", "b.ods", diagtest.Zip(t, map[string]string{"mimetype": "x"}), "OpenDocument"},
		{"binary", "b.xlsb", diagtest.Zip(t, map[string]string{"xl/workbook.bin": "x"}), "binary form"},
		{"hollow", "b.xlsx", diagtest.Zip(t, map[string]string{"xl/workbook.xml": "x"}), "b.xlsx…"},
		{"two sheets", "b.xlsx", book(t, map[string][][]any{"a": {titles()}, "b": {titles()}}), "no sheet readings, and 2 others"},
		{"no header", "b.xlsx", book(t, map[string][][]any{"readings": {{"x", "y"}, {1, 2}}}), "sheet readings, line 1: no header row"},
		{"empty sheet", "b.xlsx", book(t, map[string][][]any{"readings": {}}), "sheet readings, line 1: no header row"},
		{"text", "b.xlsx", book(t, map[string][][]any{"readings": {titles(), {7, 2.5, 10, 3000, "about 60", 300, 13.5}}}),
			"b.xlsx, sheet readings, line 2, column volume_ml (E): \"about 60\" is not a number"},
		{"error cell", "b.xlsx", book(t, map[string][][]any{"readings": {titles(), {7, 2.5, 10, 3000, "#DIV/0!", 300, 13.5}}}), "column volume_ml (E): \"#DIV/0!\" is not a number"},
		{"merged down", "b.xlsx", book(t, map[string][][]any{"readings": {titles(), {7, 2.5, 10, 3000, 64.5, 300, 13.5}, {8, 2.5, 10, 3000, 64.5, nil, 13.5}}}),
			"line 3, column pressure_kpa (F): the cell is empty…merged"},
		{"thousands", "b.xlsx", book(t, map[string][][]any{"readings": {titles(), {7, 2.5, 10, 3000, "64,500", 300, 13.5}}}), "column volume_ml (E): …separator of thousands"},
		{"setup sheet", "b.xlsx", book(t, map[string][][]any{"readings": {titles(), {7, 2.5, 10, 3000, 64.5, 300, 13.5}}, "setup": {{"title", "x"}, {"clmp_v", 36}}}),
			"b.xlsx, sheet setup, line 2, column clmp_v: …did you mean clamp_v?"},
		{"beyond the header", "b.xlsx", book(t, map[string][][]any{"readings": {titles(), {7, 2.5, 10, 3000, 64.5, 300, 13.5, nil, "spilt"}}}), "line 2, column I: \"spilt\" stands beside the table"},
		{"one column short", "b.xlsx", book(t, map[string][][]any{"readings": {titles()[:6], {7, 2.5, 10, 3000, 64.5, 300}}}), "line 1: voltage is missing"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, err := bench.Read(bytes.NewReader(c.data), c.file)
			if err == nil || len(s.Readings) > 0 {
				t.Fatalf("no error: %+v", s)
			}
			errorsOf(t, err)
			if !says(err.Error(), c.want) {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
		})
	}
}

// TestReadMacros: cells of a workbook with macros are read, and the user is told.
func TestReadMacros(t *testing.T) {
	data := book(t, map[string][][]any{"readings": {titles(), {7, 2.5, 10, 3000, 64.5, 300, 13.5}}})
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, f := range z.File {
		if err := w.Copy(f); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := w.Create("xl/vbaProject.bin"); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	s, err := bench.Read(&b, "b.xlsm")
	if err != nil || len(s.Readings) != 1 || len(s.Notes) != 1 || s.Notes[0].Code != "macros" {
		t.Errorf("got %v, notes %v", err, s.Notes)
	}
}

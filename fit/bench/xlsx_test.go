package bench_test

import (
	"archive/zip"
	"bytes"
	"maps"
	"os"
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
			if s.Readings.Len() != 1 || s.Missing != 0 {
				t.Fatalf("got %d readings, %d missing, want 1 and 0", s.Readings.Len(), s.Missing)
			}
			r := s.Readings.At(0)
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
	if s.Readings.Len() != 2 || s.Missing != 4 || !s.Wide {
		t.Fatalf("got %d readings, %d missing, want 2 and 4", s.Readings.Len(), s.Missing)
	}
	if got, want := s.At(s.Readings.At(1)).String(), "b.xlsx, sheet readings, line 2, column 10 (H)"; got != want {
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
		{"bomb", "b.xlsx", bomb(t), "b.xlsx: …unfolds to more than 512 MB"},
		{"many texts", "b.xlsx", diagtest.Zip(t, map[string]string{"xl/workbook.xml": "x", "xl/SharedStrings.xml": strings.Repeat("<si/>", 8<<20)}), "b.xlsx: …texts or formats of the workbook unfold to more than a sixteenth of 512 MB"},
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
			if err == nil || s.Readings.Len() > 0 {
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
	if err != nil || s.Readings.Len() != 1 || len(s.Notes) != 1 || s.Notes[0].Code != "macros" {
		t.Errorf("got %v, notes %v", err, s.Notes)
	}
}

// sheetOf is a workbook of one sheet readings whose rows are these, as they stand in
// its part.
func sheetOf(t testing.TB, rows string) []byte {
	const office, types = "http://schemas.openxmlformats.org/officeDocument/2006/relationships", "application/vnd.openxmlformats-officedocument.spreadsheetml."
	const main = `xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"`
	link := func(kind, target string) string {
		return `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="` + office + kind + `" Target="` + target + `"/></Relationships>`
	}
	return diagtest.Zip(t, map[string]string{
		"[Content_Types].xml": `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>` +
			`<Override PartName="/xl/workbook.xml" ContentType="` + types + `sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="` + types + `worksheet+xml"/></Types>`,
		"_rels/.rels":                link("/officeDocument", "xl/workbook.xml"),
		"xl/_rels/workbook.xml.rels": link("/worksheet", "worksheets/sheet1.xml"),
		"xl/workbook.xml":            `<workbook ` + main + ` xmlns:r="` + office + `"><sheets><sheet name="readings" sheetId="1" r:id="rId1"/></sheets></workbook>`,
		"xl/worksheets/sheet1.xml":   `<worksheet ` + main + `><sheetData>` + rows + `</sheetData></worksheet>`,
	})
}

// rowsOf writes texts as rows of cells without places, which not all programs write.
func rowsOf(lines ...string) string {
	var b strings.Builder
	for _, line := range lines {
		b.WriteString("<row>")
		for cell := range strings.SplitSeq(line, ",") {
			if formula, ok := strings.CutPrefix(cell, "="); ok {
				b.WriteString("<c><f>" + formula + "</f></c>")
				continue
			}
			b.WriteString(`<c t="inlineStr"><is><t>` + cell + "</t></is></c>")
		}
		b.WriteString("</row>")
	}
	return b.String()
}

// TestFormulaWithoutResult: of a cell that is empty it is told whether a formula
// stands in it, however the cells are placed, and however many rows follow.
func TestFormulaWithoutResult(t *testing.T) {
	header := strings.Join([]string{"injector", "pulse_ms", "period_ms", "shots", "volume_ml", "pressure_kpa", "voltage_v"}, ",")
	const good = "7,2.5,10,3000,64.5,300,13.5"
	placed := `<row r="5"><c r="A5"><v>7</v></c><c r="B5"><v>4</v></c><c r="C5"><v>10</v></c><c r="D5"><v>3000</v></c><c r="E5"><f>1+1</f></c></row>`
	for name, c := range map[string]struct{ rows, want string }{
		"in order": {rowsOf(header, good, "7,4,10,3000,=1+1,300,13.5"), "line 3, column volume_ml (E): the cell holds a formula whose result was not saved"},
		"placed":   {rowsOf(header, good) + placed, "line 5, column volume_ml (E): the cell holds a formula"},
		"empty":    {rowsOf(header, good, "7,4,10,3000,,300,13.5"), ""},
		"a crowd":  {rowsOf(header, good, "7,4,10,3000,,300,13.5") + strings.Repeat("<row/>", 200_000), ""},
	} {
		t.Run(name, func(t *testing.T) {
			s, err := bench.Read(bytes.NewReader(sheetOf(t, c.rows)), "b.xlsx")
			if c.want == "" && (err != nil || s.Readings.Len() != 1 || s.Missing != 1) {
				t.Errorf("%d readings, %d missing, %v", s.Readings.Len(), s.Missing, err)
			}
			if c.want != "" && (err == nil || !says(err.Error(), c.want)) {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
		})
	}
}

// TestNoFileBesideWorkbook reads large and damaged workbooks; nothing may stay in the
// folder for temporary files.
func TestNoFileBesideWorkbook(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("TMPDIR", dir)
	good := sheetOf(t, rowsOf("injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v", "7,2.5,10,3000,64.5,300,13.5")+"<!--"+strings.Repeat("x", 17<<20)+"-->")
	for _, data := range [][]byte{good, bytes.Replace(good, []byte("xxxx"), []byte("xx-x"), 1)} {
		bench.Read(bytes.NewReader(data), "b.xlsx")
		if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
			t.Errorf("left: %v, %v", left, err)
		}
	}
}

// TestHostileWorkbooks: what is made to fill memory, to read other files or to stop
// the library is answered or refused in words.
func TestHostileWorkbooks(t *testing.T) {
	const header, good = "injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v", "7,2.5,10,3000,64.5,300,13.5"
	sound := diagtest.Unzip(t, sheetOf(t, rowsOf(header, good)))
	sheet := func(change func(part string) string) []byte {
		parts := maps.Clone(sound)
		parts["xl/worksheets/sheet1.xml"] = change(parts["xl/worksheets/sheet1.xml"])
		return diagtest.Zip(t, parts)
	}
	laughs := `<!DOCTYPE x [<!ENTITY a0 "ha"><!ENTITY a1 "&a0;&a0;&a0;&a0;&a0;&a0;&a0;&a0;"><!ENTITY a2 "&a1;&a1;&a1;&a1;&a1;&a1;&a1;&a1;">]>`
	outside := `<!DOCTYPE x [<!ENTITY a2 SYSTEM "file:///etc/passwd">]>`
	first := func(with string) func(string) string {
		return func(part string) string { return with + strings.Replace(part, ">7<", ">&a2;<", 1) }
	}
	for name, c := range map[string]struct {
		data     []byte
		readings int
	}{
		"entity of entities": {sheet(first(laughs)), 0},
		"entity of a file":   {sheet(first(outside)), 0},
		"huge dimension": {sheet(func(p string) string {
			return strings.Replace(p, "<sheetData>", `<dimension ref="A1:XFD1048576"/><cols><col min="1" max="16384" width="9"/></cols><sheetData>`, 1)
		}), 1},
		"last row":       {sheetOf(t, rowsOf(header, good)+`<row r="1048576"><c r="XFD1048576"/></row>`), 1},
		"row beyond":     {sheetOf(t, rowsOf(header, good)+`<row r="99999999999"><c><v>1</v></c></row>`), 0},
		"wide row":       {sheetOf(t, rowsOf(header, good)+`<row><c r="XFD3"><v>1</v></c></row>`), 0},
		"deep":           {sheetOf(t, rowsOf(header, good)+strings.Repeat("<row>", 200_000)), 1},
		"no such text":   {sheetOf(t, rowsOf(header, good)+`<row><c t="s"><v>999999999</v></c><c t="s"><v>-1</v></c></row>`), 1},
		"rows backwards": {sheetOf(t, `<row r="9">`+strings.TrimPrefix(rowsOf(header), "<row>")+strings.Replace(rowsOf(good), "<row>", `<row r="3">`, 1)), 0},
	} {
		t.Run(name, func(t *testing.T) {
			s, err := bench.Read(bytes.NewReader(c.data), "b.xlsx")
			if s.Readings.Len() != c.readings || (err == nil) != (c.readings > 0) {
				t.Errorf("%d readings, %v", s.Readings.Len(), err)
			}
			if err != nil && (!strings.HasPrefix(err.Error(), "b.xlsx") || strings.Contains(err.Error(), "root:")) {
				t.Errorf("got %v", err)
			}
		})
	}
}

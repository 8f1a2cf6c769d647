package export

import (
	"bytes"
	"maps"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"injtab/fit/diag"
	"injtab/fit/diag/diagtest"
	"injtab/tables"
)

func workbookOf(t testing.TB, r tables.Report, calcs ...Calculation) []byte {
	t.Helper()
	var buf bytes.Buffer
	if err := Workbook(&buf, r, calcs); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

// sampleCalculation looks a grid, a list and a text up.
func sampleCalculation() Calculation {
	entries := []Entry{
		{Label: "What you want"},
		{Label: "Voltage", Name: "at_voltage", Unit: "V", Decimals: 2, Input: true, Number: 12.6, Min: 6, Max: 16},
		{Label: "Pressure", Name: "at_pressure", Unit: "kPa", Input: true, Number: 270, Min: 0, Max: 1000},
		{Label: "Fuel in one pulse", Name: "wanted_ml", Unit: "ml", Decimals: 4, Input: true, Number: 0.05, Min: 0, Max: 5},
		{Label: "Cylinder", Name: "cylinder", Text: "2", From: "trims_rows"},
		{Label: "What the tables say"},
	}
	entries = append(entries, Lookup("dead", "Dead time", deadTime(), "at_voltage", "at_pressure")...)
	entries = append(entries, LookupList("flowing", "Flow", flow(), 0, "at_pressure")...)
	entries = append(entries,
		LookupText("trim", "Flow trim", trims(), 1, -1, "cylinder"),
		Entry{Label: "Pulse", Name: "pulse_ms", Unit: "ms", Decimals: 4, Formula: "60000*wanted_ml/flowing*(1+trim/100)+dead",
			Value: func(known map[string]Entry) float64 {
				return 60000*known["wanted_ml"].Number/known["flowing"].Number*(1+known["trim"].Number/100) + known["dead"].Number
			}})
	return Calculation{Name: "fuel to pulse", Title: "Fuel to pulse", Text: []string{"Type a point into the framed cells; the pulse is at the bottom."}, Entries: entries}
}

func TestWorkbookHoldsTheCellsOfTheCSV(t *testing.T) {
	list, err := ReadWorkbook(bytes.NewReader(workbookOf(t, sampleReport(), sampleCalculation())))
	if err != nil {
		t.Fatal(err)
	}
	want := []tables.Table{flow(), deadTime(), deviation(), trims()}
	if len(list) != len(want) {
		t.Fatalf("%d tables", len(list))
	}
	for i, got := range list {
		if got.Name != want[i].Name {
			t.Errorf("table %d is %s, want %s", i, got.Name, want[i].Name)
		}
		if diff := cmp.Diff(string(csvOf(t, want[i])), string(csvOf(t, got))); diff != "" {
			t.Errorf("%s (-CSV +workbook):\n%s", got.Name, diff)
		}
	}
}

func TestWorkbookKeepsHostileTextsAsTexts(t *testing.T) {
	data := workbookOf(t, hostileReport())
	list, err := ReadWorkbook(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	for i, h := range hostile {
		if got := list[0].RowText[i]; got != clean(h) {
			t.Errorf("%q came back as %q, want %q", h, got, clean(h))
		}
	}
	for name, part := range diagtest.Unzip(t, data) {
		if strings.Contains(name, "worksheets/sheet") && strings.Contains(part, "<f>") {
			t.Errorf("%s holds a formula", name)
		}
		if i := strings.IndexFunc(part, func(r rune) bool { return r != '\n' && r != '\r' && r != '\t' && hidden(r) }); i >= 0 {
			t.Errorf("%s holds %q", name, part[i:i+4])
		}
	}
}

func TestWorkbookHasTheSameBytesEachTime(t *testing.T) {
	first := workbookOf(t, sampleReport(), sampleCalculation())
	for range 8 {
		if !bytes.Equal(first, workbookOf(t, sampleReport(), sampleCalculation())) {
			t.Fatal("two runs differ")
		}
	}
}

// The formulas' stored values against the interpolation done by hand:
// voltage 12.6 lies 0.4 of the way from 12 to 13.5 V, pressure 270 lies 0.4 from
// 250 to 300 kPa; so dead time is 0.6·(0.6·1.1+0.4·1.15)+0.4·(0.6·0.910+0.4·0.951).
func TestWorkbookStoresWhatItsFormulasGive(t *testing.T) {
	dead := 0.6*(0.6*1.1+0.4*1.15) + 0.4*(0.6*0.910+0.4*0.951)
	flow := 0.6*456.6 + 0.4*500.2
	pulse := 60000*0.05/flow*(1-0.5/100) + dead
	want := map[string]float64{"dead": dead, "flowing": flow, "trim": -0.5, "pulse_ms": pulse}
	f, err := excelize.OpenReader(bytes.NewReader(workbookOf(t, sampleReport(), sampleCalculation())), excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for name, x := range want {
		got, err := f.GetCellValue("fuel to pulse", defined(t, f, name))
		if err != nil {
			t.Fatal(err)
		}
		wantNumber(t, name, got, x)
	}
}

func TestALookupThatTouchesAnEmptyCellHasNoValue(t *testing.T) {
	c := sampleCalculation()
	c.Entries[2].Number = 350 // 12.6 V, between 300 and 400 kPa: 13.5 V, 400 kPa is empty
	var cells []string
	f, err := excelize.OpenReader(bytes.NewReader(workbookOf(t, sampleReport(), c)), excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for _, name := range []string{"dead", "pulse_ms", "flowing"} {
		v, _ := f.GetCellValue("fuel to pulse", defined(t, f, name))
		cells = append(cells, v)
	}
	if cells[0] != "" || cells[1] != "" || !isNumber(cells[2]) {
		t.Errorf("got %q", cells)
	}
}

// defined is the cell that a name stands for.
func defined(t *testing.T, f *excelize.File, name string) string {
	t.Helper()
	for _, d := range f.GetDefinedName() {
		if d.Name == name {
			from, _, _ := strings.Cut(d.RefersTo[strings.LastIndex(d.RefersTo, "!")+1:], ":")
			return strings.ReplaceAll(from, "$", "")
		}
	}
	t.Fatalf("nothing is named %s", name)
	return ""
}

func wantNumber(t *testing.T, name, text string, want float64) {
	t.Helper()
	got, _, ok := sheet{}.number(text)
	if !ok || got < want-1e-9 || got > want+1e-9 {
		t.Errorf("%s is %q, want %v", name, text, want)
	}
}

func TestWorkbookRefusesBadNames(t *testing.T) {
	for _, name := range []string{"u1", "R1C1", "dead time", "", "flow_rows", "Flow_Rows"} {
		c := Calculation{Name: "x", Entries: []Entry{{Label: "a", Name: name, Input: true}}}
		err := Workbook(&bytes.Buffer{}, sampleReport(), []Calculation{c})
		if name == "" && err != nil {
			t.Error(err)
		}
		if name != "" && err == nil {
			t.Errorf("%q names cells", name)
		}
	}
}

func TestSheetNamesAreAllowedAndApart(t *testing.T) {
	b := newBook()
	defer b.f.Close()
	seen := map[string]bool{}
	for _, wanted := range []string{"flow", "Flow", "a/b:c*d?e[f]\\g", strings.Repeat("x", 50), strings.Repeat("x", 50), "", "'", "History\x00", "😀😀😀😀😀😀😀😀😀😀😀😀😀😀😀😀😀😀"} {
		name := b.newSheet(wanted)
		if key := strings.ToLower(name); seen[key] {
			t.Errorf("%q stands twice", name)
		} else {
			seen[key] = true
		}
	}
	if b.err != nil {
		t.Error(b.err)
	}
}

func TestReadWorkbookRefusesOthers(t *testing.T) {
	_, err := ReadWorkbook(strings.NewReader("not a zip"))
	wantError(t, err, "no workbook")
	f := excelize.NewFile()
	var empty bytes.Buffer
	if err := f.Write(&empty); err != nil {
		t.Fatal(err)
	}
	_, err = ReadWorkbook(bytes.NewReader(empty.Bytes()))
	wantError(t, err, "names no tables")
	for _, refers := range []string{"nonsense", "Sheet1!$A$1:$XFD$1048576", "Sheet1!A", "Sheet1!$A$1:$B$2"} {
		f := excelize.NewFile()
		if err := f.SetDefinedName(&excelize.DefinedName{Name: "x_table", RefersTo: refers}); err != nil {
			t.Fatal(err)
		}
		var buf bytes.Buffer
		if err := f.Write(&buf); err != nil {
			t.Fatal(err)
		}
		if _, err := ReadWorkbook(bytes.NewReader(buf.Bytes())); err == nil {
			t.Errorf("%q was read as a table", refers)
		}
	}
}

func TestReadWorkbookSaysWhereItStumbles(t *testing.T) {
	f, err := excelize.OpenReader(bytes.NewReader(workbookOf(t, sampleReport())))
	if err != nil {
		t.Fatal(err)
	}
	if err := f.SetCellStr("dead_time", at(2, firstRow+1), "lots"); err != nil {
		t.Fatal(err)
	}
	var buf bytes.Buffer
	if err := f.Write(&buf); err != nil {
		t.Fatal(err)
	}
	_, err = ReadWorkbook(bytes.NewReader(buf.Bytes()))
	wantError(t, err, `sheet dead_time, line 6, column 250: read "lots", expected a number or an empty cell`)
}

func TestBasisIsToldWithoutColour(t *testing.T) {
	b := newBook()
	defer b.f.Close()
	seen := map[string]string{}
	for _, s := range samples {
		style, err := b.f.GetStyle(b.valueStyle(3, s.basis, s.status))
		if err != nil {
			t.Fatal(err)
		}
		style.Font.Color = ""
		style.Fill.Color = nil
		look := cmp.Diff(excelize.Style{}, *style)
		if other, ok := seen[look]; ok {
			t.Errorf("%q and %q look the same without colour", other, s.text)
		}
		seen[look] = s.text
	}
	for _, s := range samples {
		if s.status == diag.OK && s.basis != diag.Measured && !strings.Contains(s.text, "italic") && !strings.Contains(s.text, "underlined") {
			t.Errorf("legend %q", s.text)
		}
	}
}

func BenchmarkWorkbook(b *testing.B) {
	r := sampleReport()
	for b.Loop() {
		workbookOf(b, r, sampleCalculation())
	}
}

// TestReadWorkbookBoundsRows: sheets that the library would take hours for are refused.
func TestReadWorkbookBoundsRows(t *testing.T) {
	parts := diagtest.Unzip(t, workbookOf(t, sampleReport()))
	for name, rows := range map[string]string{
		"without numbers": strings.Repeat("<row/>", 300_000),
		"of one number":   strings.Repeat(`<row r="7"/>`, 300_000),
		"far down":        `<row r="1048576"/>`,
	} {
		hostile := maps.Clone(parts)
		for part, text := range parts {
			if strings.HasPrefix(part, "xl/worksheets/sheet") {
				hostile[part] = strings.Replace(text, "</sheetData>", rows+"</sheetData>", 1)
			}
		}
		if _, err := ReadWorkbook(bytes.NewReader(diagtest.Zip(t, hostile))); err == nil || !strings.Contains(err.Error(), "not numbered one after another") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

package export

import (
	"bytes"
	"encoding/csv"
	"math"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"injtab/fit/diag"
	"injtab/fit/unit"
	"injtab/tables"
)

func TestCSVGolden(t *testing.T) {
	for _, table := range []tables.Table{flow(), deadTime(), trims(), deviation()} {
		golden(t, table.Name+".csv", csvOf(t, table))
	}
}

func csvOf(t testing.TB, table tables.Table) []byte {
	t.Helper()
	var buf bytes.Buffer
	if err := CSV(&buf, table); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

func TestCellsGolden(t *testing.T) {
	var buf bytes.Buffer
	if err := Cells(&buf, []tables.Table{flow(), deadTime(), trims()}); err != nil {
		t.Fatal(err)
	}
	golden(t, "cells.csv", buf.Bytes())
}

// Rows of one text come back in their order, each with what it rests on.
func TestCellsOfRowsWithoutACylinder(t *testing.T) {
	unseated := trims()
	for r := range unseated.RowText {
		unseated.RowText[r] = ""
		for c := range unseated.Cells[r] {
			unseated.Cells[r][c].CI95 = 0.1 * float64(r+1)
		}
	}
	var buf bytes.Buffer
	if err := Cells(&buf, []tables.Table{unseated}); err != nil {
		t.Fatal(err)
	}
	notes, err := readCells(bytes.NewReader(buf.Bytes()), "cells.csv")
	if err != nil {
		t.Fatal(err)
	}
	back := trims()
	back.RowText = unseated.RowText
	notes.annotate(&back)
	for r := range back.Cells {
		if got, want := back.Cells[r][1].CI95, 0.1*float64(r+1); back.Cells[r][1].Status.HasValue() && math.Abs(got-want) > 1e-9 {
			t.Errorf("row %d: an interval of %v, want %v", r+1, got, want)
		}
	}
}

// Every field of the examples of RFC 4180, section 2, comes back.
func TestCSVQuotesAsRFC4180(t *testing.T) {
	table := labelled("aaa", "b\nbb", "c,cc", `b"bb`, "")
	got := string(csvOf(t, table))
	want := "injector,verdict\naaa,x\n\"b\nbb\",x\n\"c,cc\",x\n\"b\"\"bb\",x\n,x\n"
	if got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// labelled is a list whose rows are the names.
func labelled(names ...string) tables.Table {
	t := tables.Table{Name: "x", Corner: "injector", Row: tables.Column{Name: "injector", Text: true}, Cols: []tables.Column{{Name: "verdict", Text: true}}}
	for _, n := range names {
		t.RowText = append(t.RowText, n)
		t.Cells = append(t.Cells, []tables.Cell{word("x")})
	}
	return t
}

func TestReadCSVGivesTheNumbersWritten(t *testing.T) {
	for _, table := range []tables.Table{flow(), deadTime(), trims(), deviation()} {
		first := csvOf(t, table)
		back, err := ReadCSV(bytes.NewReader(first), "dir/"+table.Name+".csv")
		if err != nil {
			t.Fatal(err)
		}
		if back.Name != table.Name || back.Grid() != table.Grid() || back.Row.Name != table.Row.Name {
			t.Errorf("%s came back as %s, grid %v, rows %s", table.Name, back.Name, back.Grid(), back.Row.Name)
		}
		if again := csvOf(t, back); !bytes.Equal(first, again) {
			t.Errorf("%s (-first +again):\n%s", table.Name, cmp.Diff(string(first), string(again)))
		}
		for r := range table.Cells {
			for c := range table.Cols {
				if want, got := cellText(table, r, c), cellText(back, r, c); want != got {
					t.Errorf("%s row %d column %d: got %q, want %q", table.Name, r, c, got, want)
				}
			}
		}
	}
}

func TestHostileTextsSurviveCSV(t *testing.T) {
	var names []string
	for _, h := range hostile {
		if utf8.ValidString(h) {
			names = append(names, lf(h))
		}
	}
	data := csvOf(t, labelled(names...))
	back, err := ReadCSV(bytes.NewReader(data), "x.csv")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(names, back.RowText); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	lines, _ := csv.NewReader(bytes.NewReader(data)).ReadAll()
	for _, l := range lines {
		for _, field := range l {
			if field != "" && strings.ContainsRune("=+-@\t\r", rune(field[0])) {
				t.Errorf("a spreadsheet would run %q", field)
			}
		}
	}
}

func TestGuardIsUndone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringOf(rapid.RuneFrom([]rune("'=+-@\t\r\nab7"))).Draw(t, "text")
		s = lf(s)
		g := guard(s)
		if unguard(g) != s {
			t.Fatalf("%q became %q, then %q", s, g, unguard(g))
		}
		if g != "" && runnable(g[0]) {
			t.Fatalf("%q is written %q, which runs", s, g)
		}
	})
}

func TestReadCSVOfHandEditedFiles(t *testing.T) {
	grid := "voltage_v\\pressure_kpa,250,300\n10.0,1.5,1.62\n12,1.1,\n"
	cases := map[string]string{
		"as written":              grid,
		"byte-order mark":         "\ufeff" + grid,
		"CRLF":                    strings.ReplaceAll(grid, "\n", "\r\n"),
		"blank lines, empty ends": "\n\nvoltage_v\\pressure_kpa,250,300,,\n10.0, 1.5 ,1.62,\n,,,\n\n12,1.10000,,\n",
		"semicolons and commas":   "voltage_v\\pressure_kpa;250;300\n10,0;1,5;1,62\n12;1,1;\n",
		"tabs":                    "voltage_v\\pressure_kpa\t250\t300\n10.0\t1.5\t1.62\n12\t1.1\n",
		"exponent":                "voltage_v\\pressure_kpa,250,300\n1e1,15e-1,0.162e+1\n12,1.1,\n",
	}
	for name, data := range cases {
		t.Run(name, func(t *testing.T) {
			got, err := ReadCSV(strings.NewReader(data), "dead_time.csv")
			if err != nil {
				t.Fatal(err)
			}
			want := [][]tables.Cell{{{Value: 1.5}, {Value: 1.62}}, {{Value: 1.1}, none(diag.NotMeasured)}}
			if diff := cmp.Diff(want, got.Cells); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
			if diff := cmp.Diff([]float64{10, 12}, got.RowAt); diff != "" || got.Cols[1].At != 300 || got.Across.Name != "pressure_kpa" || got.Row.Unit != "V" {
				t.Errorf("axes: %v %+v %+v", got.RowAt, got.Cols, got.Across)
			}
		})
	}
}

func TestReadCSVWithoutBackslashIsAGridWhenHeadersAreNumbers(t *testing.T) {
	got, err := ReadCSV(strings.NewReader("injector,2.5,10\n7,1.5,0.4\n=,,\n"), "trims_by_pulse.csv")
	if err != nil {
		t.Fatal(err)
	}
	if !got.Grid() || !got.Row.Text || got.RowText[0] != "7" || got.Cols[0].At != 2.5 {
		t.Errorf("got %+v", got)
	}
}

func TestReadCSVRefusesNonsense(t *testing.T) {
	cases := []struct{ name, data, want string }{
		{"empty", "", "t.csv: this is no table: expected a header line with two or more columns"},
		{"one column", "a\n1\n", "t.csv, line 1: this is no table"},
		{"header only", "voltage_v,flow_ml_min\n", "has a header but no rows"},
		{"word for a number", "pressure_kpa,flow_ml_min\n250,456\n300,lots\n", `t.csv, line 3, column flow_ml_min: read "lots", expected a number or an empty cell`},
		{"all words", "pressure_kpa,flow_ml_min\n250,lots\n300,few\n", `line 2, column flow_ml_min: read "lots"`},
		{"breakpoint", "pressure_kpa,flow_ml_min\nlow,456\n", `line 2, column pressure_kpa: read "low", expected a number`},
		{"no breakpoint", "pressure_kpa,flow_ml_min\n250,400\n,456\n", `line 3, column pressure_kpa: read "", expected a number`},
		{"falling rows", "pressure_kpa,flow_ml_min\n300,400\n250,456\n", "line 3, column pressure_kpa: read 250 after 300: the values of the first column must rise"},
		{"falling header", "voltage_v\\pressure_kpa,300,250\n12,1,2\n", "line 1, column 250: read 250 after 300: the header's values must rise"},
		{"word in a grid's header", "voltage_v\\pressure_kpa,300,high\n12,1,2\n", `line 1, column high: read "high", expected a number in the header`},
		{"infinity", "pressure_kpa,flow_ml_min\n250,inf\n", `read "inf"`},
		{"not a number", "pressure_kpa,flow_ml_min\n250,NaN\n", `read "NaN"`},
		{"hexadecimal", "pressure_kpa,flow_ml_min\n250,0x1p3\n", `read "0x1p3"`},
		{"underscore", "pressure_kpa,flow_ml_min\n250,1_000\n", `read "1_000"`},
		{"too large", "pressure_kpa,flow_ml_min\n250,1e999\n", `read "1e999"`},
		{"decimal comma", "pressure_kpa,flow_ml_min\n250,456,5\n", "line 2: this line has 3 values but the header names 2 columns"},
		{"quotes", "pressure_kpa,flow_ml_min\n250,\"456\n", "line 2: the quotation marks of this line don't pair up"},
		{"header twice", "injector,a,a\n1,2,3\n", "column a: two columns have this name"},
		{"header without name", "injector,,a\n1,2,3\n", "column 2 has no name"},
		{"UTF-16", "\xff\xfea\x00", "UTF-16"},
		{"not UTF-8", "injector,a\n\xff,2\n", "not UTF-8"},
		{"escape in a cell", "pressure_kpa,flow_ml_min\n250,\x1b[31m\n", `read "<U+001B>[31m"`},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := ReadCSV(strings.NewReader(c.data), "t.csv")
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got error %v, want %q", err, c.want)
			}
			if diff := cmp.Diff(tables.Table{}, got); diff != "" {
				t.Errorf("a table beside an error: %s", diff)
			}
		})
	}
}

func TestCSVRefusesWhatIsNoNumber(t *testing.T) {
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		table := flow()
		table.Cells[1][0].Value = x
		if err := CSV(&bytes.Buffer{}, table); err == nil || !strings.Contains(err.Error(), "table flow can't be written: row 300, column flow_ml_min") {
			t.Errorf("%v: got %v", x, err)
		}
		table = flow()
		table.RowAt[0] = x
		if err := CSV(&bytes.Buffer{}, table); err == nil {
			t.Errorf("breakpoint %v was written", x)
		}
	}
	table := flow()
	table.Cells = table.Cells[1:]
	if err := CSV(&bytes.Buffer{}, table); err == nil {
		t.Error("a table with fewer rows than breakpoints was written")
	}
}

func TestUnitsFromNames(t *testing.T) {
	for name, want := range map[string]string{"flow_ml_min": "ml/min", "run_min": "min", "density_kg_m3": "kg/m3", "voltage_v": "V",
		"flow_trim_pct": "%", "dead_time_factor": "", "pump_flow_l_h": "l/h", "injector": "", "smallest_fuel_ml": "ml", "": "", "_": ""} {
		if got, _ := unitOf(name); got != want {
			t.Errorf("%s: got %q, want %q", name, got, want)
		}
	}
}

// The suffixes are those of the unit package, no fewer and no others.
func TestSuffixesAreThoseOfTheUnits(t *testing.T) {
	known := map[string][2]string{}
	for _, list := range [][]unit.Unit{unit.Times.Units, unit.Pressures.Units, unit.Voltages.Units, unit.Resistances.Units,
		unit.Volumes.Units, unit.Masses.Units, unit.Densities.Units, unit.Temperatures.Units, unit.VolumeFlows.Units,
		unit.MassFlows.Units, unit.Powers.Units, unit.Frequencies.Units, unit.Ratios.Units} {
		for _, u := range list {
			if u.Suffix != "" {
				known[u.Suffix] = [2]string{u.Symbol, u.UCUM}
			}
		}
	}
	ours := map[string][2]string{}
	for _, s := range suffixes {
		ours[s[0]] = [2]string{s[1], s[2]}
	}
	if diff := cmp.Diff(known, ours); diff != "" {
		t.Errorf("(-units +suffixes):\n%s", diff)
	}
	for suffix, want := range known {
		if symbol, ucum := unitOf("x" + suffix); symbol != want[0] || ucum != want[1] {
			t.Errorf("x%s is read as %s, %s", suffix, symbol, ucum)
		}
	}
}

func TestNumber(t *testing.T) {
	cases := []struct {
		x        float64
		decimals int
		want     string
	}{
		{-0.0004, 3, "0.000"}, {math.Copysign(0, -1), 0, "0"}, {-0.0006, 3, "-0.001"},
		{1234567.891, 1, "1234567.9"}, {5, 0, "5"}, {1e21, 0, "1000000000000000000000"}, {0.125, 3, "0.125"}, {300, -1, "300"},
	}
	for _, c := range cases {
		if got := number(c.x, c.decimals); got != c.want {
			t.Errorf("number(%v, %d) = %q, want %q", c.x, c.decimals, got, c.want)
		}
	}
}

func TestAnyGridReadsBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		table := drawGrid(rt)
		data := csvOf(t, table)
		back, err := ReadCSV(bytes.NewReader(data), "g.csv")
		if err != nil {
			rt.Fatalf("%v in\n%s", err, data)
		}
		if again := csvOf(t, back); !bytes.Equal(data, again) {
			rt.Fatalf("first\n%sthen\n%s", data, again)
		}
	})
}

func drawGrid(t *rapid.T) tables.Table {
	axis := func(name string) []float64 {
		steps := rapid.SliceOfN(rapid.IntRange(1, 500), 1, 6).Draw(t, name)
		at := make([]float64, len(steps))
		sum := -300
		for i, s := range steps {
			sum += s
			at[i] = float64(sum) / 10
		}
		return at
	}
	table := tables.Table{Name: "g", Corner: `voltage_v\pressure_kpa`, Row: tables.Column{Name: "voltage_v", Decimals: 1}, Across: tables.Column{Name: "pressure_kpa"}}
	table.RowAt = axis("rows")
	digits := rapid.IntRange(0, 6).Draw(t, "digits")
	for _, at := range axis("columns") {
		table.Cols = append(table.Cols, tables.Column{Name: strconv.FormatFloat(at, 'f', 1, 64), At: at, Decimals: digits})
	}
	for range table.RowAt {
		row := make([]tables.Cell, len(table.Cols))
		for c := range row {
			row[c] = value(rapid.Float64Range(-1e6, 1e6).Draw(t, "value"), 0, diag.Measured)
			if rapid.IntRange(0, 9).Draw(t, "empty") == 0 {
				row[c] = none(diag.NotMeasured)
			}
		}
		table.Cells = append(table.Cells, row)
	}
	return table
}

func BenchmarkCSV(b *testing.B) {
	table := wide(5000)
	for b.Loop() {
		csvOf(b, table)
	}
}

func BenchmarkReadCSV(b *testing.B) {
	data := csvOf(b, wide(5000))
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, err := ReadCSV(bytes.NewReader(data), "wide.csv"); err != nil {
			b.Fatal(err)
		}
	}
}

// wide is a list of so many rows by eight columns.
func wide(rows int) tables.Table {
	t := tables.Table{Name: "wide", Corner: "pressure_kpa", Row: tables.Column{Name: "pressure_kpa"}}
	for c := range 8 {
		t.Cols = append(t.Cols, tables.Column{Name: "point " + strconv.Itoa(c), Decimals: 3})
	}
	for r := range rows {
		t.RowAt = append(t.RowAt, float64(r))
		t.Cells = append(t.Cells, make([]tables.Cell, 8))
		for c := range 8 {
			t.Cells[r][c] = value(float64(r*8+c)/7, 0.1, diag.Measured)
		}
	}
	return t
}

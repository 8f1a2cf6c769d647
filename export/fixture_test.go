package export

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"injtab/fit/diag"
	"injtab/tables"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares with a file under testdata; -update writes it.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("..", "testdata", "golden", "export", name)
	if *update {
		if err := os.WriteFile(path, got, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(want, got) {
		t.Errorf("%s differs (-want +got):\n%s", name, cmp.Diff(string(want), string(got)))
	}
}

func value(x, ci float64, b diag.Basis) tables.Cell { return tables.Cell{Value: x, CI95: ci, Basis: b} }
func none(s diag.Status) tables.Cell                { return tables.Cell{Status: s} }
func word(s string) tables.Cell                     { return tables.Cell{Text: s} }

// deadTime is a grid with every basis and status.
func deadTime() tables.Table {
	ms := func(name string, at float64) tables.Column {
		return tables.Column{Name: name, At: at, Title: "Dead time", Unit: "ms", UCUM: "ms", Decimals: 3}
	}
	weak := value(2.84, 0.21, diag.Extrapolated)
	weak.Status = diag.Unreliable
	return tables.Table{
		Name: "dead_time", Title: "Dead time", Corner: `voltage_v\pressure_kpa`,
		About:  "The time that each pulse loses before fuel flows. Read between the lines in both directions.",
		Row:    tables.Column{Name: "voltage_v", Title: "Voltage", Unit: "V", UCUM: "V", Decimals: 1, About: "Supply at the injector."},
		RowAt:  []float64{8, 10, 12, 13.5, 15},
		Across: tables.Column{Name: "pressure_kpa", Title: "Pressure", Unit: "kPa", UCUM: "kPa"},
		Cols:   []tables.Column{ms("250", 250), ms("300", 300), ms("400", 400)},
		Cells: [][]tables.Cell{
			{value(2.312, 0.12, diag.Extrapolated), weak, none(diag.DoesNotOpen)},
			{value(1.5204, 0.031, diag.Interpolated), value(1.6, 0.03, diag.Measured), value(1.82, 0.09, diag.Extrapolated)},
			{value(1.1, 0.012, diag.Measured), value(1.15, 0.01, diag.Measured), value(1.26, 0.06, diag.Assumed)},
			{value(0.9104, 0.011, diag.Measured), value(0.951, 0.009, diag.Measured), none(diag.NotMeasured)},
			{value(0.77, 0.014, diag.Interpolated), value(0.805, 0.012, diag.Measured), value(-0.0002, 0.05, diag.Extrapolated)},
		},
		Notes: []diag.Note{diag.Warn("near_opening", "At 8 V the injectors barely open; do not rely on the cells marked unreliable.")},
	}
}

func flow() tables.Table {
	return tables.Table{
		Name: "flow", Title: "Static flow", Corner: "pressure_kpa", About: "What the mean injector delivers held open.",
		Row:   tables.Column{Name: "pressure_kpa", Title: "Pressure", Unit: "kPa", UCUM: "kPa"},
		RowAt: []float64{250, 300, 400},
		Cols:  []tables.Column{{Name: "flow_ml_min", Title: "Static flow", Unit: "ml/min", UCUM: "mL/min", Decimals: 1, About: "Flow with the injector held open."}},
		Cells: [][]tables.Cell{{value(456.62, 3.1, diag.Interpolated)}, {value(500.24, 2.2, diag.Measured)}, {value(577.61, 4.9, diag.Measured)}},
	}
}

func trims() tables.Table {
	return tables.Table{
		Name: "trims", Title: "Trims by cylinder", Corner: "cylinder",
		Row:     tables.Column{Name: "cylinder", Title: "Cylinder", Text: true},
		RowText: []string{"1", "2", "3", "4"},
		Cols: []tables.Column{
			{Name: "injector", Title: "Injector", Text: true},
			{Name: "flow_trim_pct", Title: "Flow trim", Unit: "%", UCUM: "%", Decimals: 1},
			{Name: "dead_time_trim_ms", Title: "Dead-time trim", Unit: "ms", UCUM: "ms", Decimals: 3},
		},
		Cells: [][]tables.Cell{
			{word("7"), value(1.24, 0.4, diag.Measured), value(-0.012, 0.006, diag.Measured)},
			{word("2"), value(-0.51, 0.4, diag.Measured), value(0.004, 0.006, diag.Measured)},
			{word("11"), value(-0.04, 0.4, diag.Measured), value(0.0004, 0.006, diag.Measured)},
			{word("3 (spare)"), value(-0.69, 0.4, diag.Measured), none(diag.NotMeasured)},
		},
	}
}

func deviation() tables.Table {
	col := func(name string) tables.Column {
		return tables.Column{Name: name, Title: name, Unit: "%", UCUM: "%", Decimals: 1}
	}
	t := tables.Table{
		Name: "deviation", Title: "Deviation from the mean", Corner: "injector",
		Row:  tables.Column{Name: "injector", Title: "Injector", Text: true},
		Cols: []tables.Column{{Name: "verdict", Title: "Verdict", Text: true}, col("2 ms 300 kPa 13.5 V"), col("10 ms 300 kPa 13.5 V")},
	}
	for i, d := range []float64{1.2, -0.4, 0.7, -6.3, 0.1, 2.2} {
		verdict := "sound"
		if d < -5 {
			verdict = "outlier"
		}
		t.RowText = append(t.RowText, fmt.Sprint(i+1))
		t.Cells = append(t.Cells, []tables.Cell{word(verdict), value(d, 0.5, diag.Measured), value(d/2, 0.2, diag.Measured)})
	}
	t.Cells[2][2] = none(diag.NotMeasured)
	return t
}

// charts are one of each kind.
func curve() tables.Chart {
	return tables.Chart{
		Name: "dead_time", Title: "Dead time by voltage", Alt: "Dead time falls from 2.3 ms at 8 V to 0.8 ms at 15 V and rises with pressure.",
		X: tables.Scale{Title: "Voltage", Unit: "V"}, Y: tables.Scale{Title: "Dead time", Unit: "ms"},
		Series: []tables.Series{
			{Name: "95 % interval", Kind: tables.Band, X: []float64{8, 10, 12, 13.5, 15}, Lo: []float64{2.19, 1.49, 1.09, 0.9, 0.76}, Hi: []float64{2.43, 1.55, 1.11, 0.92, 0.78}},
			{Name: "250 kPa", Kind: tables.Line, X: []float64{8, 10, 12, 13.5, 15}, Y: []float64{2.312, 1.52, 1.1, 0.91, 0.77}},
			{Name: "300 kPa", Kind: tables.Line, X: []float64{10, 12, 13.5, 15}, Y: []float64{1.6, 1.15, 0.951, 0.805}},
			{Name: "measured", Kind: tables.Points, X: []float64{10, 12, 13.5}, Y: []float64{1.61, 1.14, 0.95}, Lo: []float64{1.57, 1.12, 0.93}, Hi: []float64{1.65, 1.16, 0.97},
				Labels: []string{"injector 7, 10 V", "injector 7, 12 V", "injector 7, 13.5 V"}},
		},
		Marks: []tables.Mark{{Name: "lowest supply", Vertical: true, At: 9}},
	}
}

func bars() tables.Chart {
	return tables.Chart{
		Name: "deviation", Title: "Deviation from the mean", Alt: "Injector 4 lies 6.3 % below the others.",
		X: tables.Scale{Title: "Injector"}, Y: tables.Scale{Title: "Deviation", Unit: "%"},
		Categories: []string{"1", "2", "3", "4", "5", "6"},
		Series: []tables.Series{
			{Name: "2 ms", Kind: tables.Bars, X: []float64{0, 1, 2, 3, 4, 5}, Y: []float64{1.2, -0.4, 0.7, -6.3, 0.1, 2.2}},
			{Name: "10 ms", Kind: tables.Bars, X: []float64{0, 1, 3, 4, 5}, Y: []float64{0.6, -0.2, -3.1, 0.1, 1.1}},
		},
		Marks: []tables.Mark{{Name: "limit", At: -5}},
	}
}

func sampleReport() tables.Report {
	return tables.Report{
		Title: "Injector tables: an invented four-cylinder",
		Answer: []string{
			"Four of six injectors agree within 1.9 % and are seated in cylinders 1 to 4.",
			"At 300 kPa and 13.5 V the mean injector flows 500.2 ± 2.2 ml/min and loses 0.951 ± 0.009 ms a pulse.",
		},
		Facts: []tables.Fact{{Name: "Bench file", Value: "session-1.csv"}, {Name: "Fluid", Value: "calibration fluid, 20 °C"}, {Name: "Rated pressure", Value: "300 kPa"}},
		Sections: []tables.Section{
			{Name: "flow", Heading: "Flow", Text: []string{"The flow follows the pressure by a power of 0.50."}, Tables: []tables.Table{flow()}},
			{Name: "dead_time", Heading: "Dead time", Tables: []tables.Table{deadTime()}, Charts: []tables.Chart{curve()}},
			{Name: "injectors", Heading: "Injectors", Tables: []tables.Table{deviation(), trims()}, Charts: []tables.Chart{bars()},
				Notes: []diag.Note{diag.Warn("outlier", "Injector 4 delivers 6.3 %% less than the others at 2 ms; clean it and test it again.")}},
		},
		Next:     []string{"Copy flow.csv and dead_time.csv into the ECU.", "Prove the tables with: injtab verify tables session-2.csv"},
		Cautions: []string{"Test fluid burns: ventilate, keep sparks away, keep an extinguisher within reach.", "Tables are a starting point: verify the mixture before any load."},
	}
}

// hostile texts are what no output may obey.
var hostile = []string{
	`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `</title></style>`, `{{.}}`, `javascript:alert(1)`,
	`=HYPERLINK("http://127.0.0.1/","x")`, `+1+1`, `-2+3`, `@SUM(A1)`, "\t=1+1", "\r=1", `'7`, `''7`, `'=1`, `'`, "''",
	"\x1b[31mred\x1b[0m", "\x1b]0;title\x07", "\x9b2J", "a\bb", "\x00nul", "bell\a",
	"../../etc/passwd", `..\..\up`, "/abs", "CON", "a|b", "`code`", "*bold*", "[x](http://127.0.0.1)", "# heading",
	"abc\u202edef\u202c", "\u2066iso\u2069", "zero\u200bwidth", "join\u200d\ufeff", "soft\u00adhyphen", "\U000e0041tag",
	"שלום", "مرحبا", "日本語の名前", "e\u0301", "line\nbreak", "cr\r\nlf", "a,b;c\td", `say "hi"`, " lead and trail ", "bad\xffutf8",
	"&amp; &lt;", "$&", "%s%d%n", "_x0041_", "[Red]0", "&D&T&P",
	strings.Repeat("long", 2500),
}

// hostileReport has every hostile text at every place a user's text can reach.
func hostileReport() tables.Report {
	t := tables.Table{
		Name: "deviation", Title: hostile[0], About: hostile[1], Corner: "injector",
		Row:   tables.Column{Name: "injector", Title: "Injector", Text: true},
		Cols:  []tables.Column{{Name: "verdict", Title: hostile[16], Text: true}, {Name: "flow_pct", Title: hostile[0], Unit: "%", Decimals: 1}},
		Notes: []diag.Note{diag.Warn("x", "%s", hostile[16])},
	}
	c := tables.Chart{Name: "deviation", Title: hostile[1], Alt: hostile[0], X: tables.Scale{Title: hostile[2]}, Y: tables.Scale{Title: hostile[17], Unit: "%"}}
	bar := tables.Series{Name: hostile[0], Kind: tables.Bars}
	for i, h := range hostile {
		t.RowText = append(t.RowText, h)
		t.Cells = append(t.Cells, []tables.Cell{word(h), value(float64(i)-20, 0.5, diag.Measured)})
		c.Categories = append(c.Categories, h)
		bar.X, bar.Y = append(bar.X, float64(i)), append(bar.Y, float64(i)-20)
		bar.Labels = append(bar.Labels, h)
	}
	c.Series = []tables.Series{bar}
	r := tables.Report{Title: hostile[0], Answer: hostile, Next: hostile, Cautions: hostile,
		Sections: []tables.Section{{Name: `"><b>`, Heading: hostile[0], Text: hostile, Tables: []tables.Table{t}, Charts: []tables.Chart{c},
			Notes: []diag.Note{diag.Warn("x", "%s", hostile[0])}}}}
	for _, h := range hostile {
		r.Facts = append(r.Facts, tables.Fact{Name: h, Value: h})
	}
	return r
}

package engine

import (
	"bytes"
	"math"
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"injtab/fit/diag"
	"injtab/fit/diag/diagtest"
	"injtab/fit/unit"
)

// nearly compares numbers of any quantity in nine digits.
var nearly = cmp.FilterPath(
	func(p cmp.Path) bool { return p.Last().Type().Kind() == reflect.Float64 },
	cmp.Comparer(func(a, b any) bool {
		x, y := reflect.ValueOf(a).Float(), reflect.ValueOf(b).Float()
		return math.Abs(x-y) <= 1e-9*math.Max(math.Abs(x), math.Abs(y))
	}))

const exampleFile = `# a remark
title: Invented four
cylinders: 4
displacement: 2.0L
rpm: 6800
power: 320hp    # at the crank
bsfc: 0.6lb/hph
fuel: E60
lambda: 0.80
boost: 1.2bar
charge_temp: 113F
regulator: fixed
pressure: 58psi
duty: 80%
dead_time: 900us
margin: 0%
`

func TestReadFile(t *testing.T) {
	want := Inputs{
		Title: "Invented four", Cylinders: 4, Displacement: litres(2), RPM: 6800, Power: hp(320), BSFC: perHph(0.6),
		Fuel: fuelNamed(t, "E60"), Lambda: 0.80, Boost: unit.KPa(120), ChargeTemp: unit.Celsius(45), Regulator: Fixed,
		Pressure: unit.Pressures.In(58, "psi"), Duty: 0.8, DeadTime: unit.Ms(0.9), Margin: part(0),
	}
	crlf := strings.ReplaceAll(exampleFile, "\n", "\r\n")
	for name, text := range map[string]string{"plain": exampleFile, "mark": "\ufeff" + exampleFile, "crlf": crlf} {
		got, err := ReadFile(strings.NewReader(text), "engine.yaml")
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if d := cmp.Diff(want, got, nearly); d != "" {
			t.Errorf("%s: %s", name, d)
		}
	}
	for _, empty := range []string{"", "\n", "# nothing\n", "---\n"} {
		if got, err := ReadFile(strings.NewReader(empty), "engine.yaml"); err != nil || !cmp.Equal(got, Inputs{}) {
			t.Errorf("%q: %v, %v", empty, got, err)
		}
	}
}

// The mark ¶ stands before the place that the error must name.
func TestReadFileErrors(t *testing.T) {
	for text, want := range map[string]string{
		"rpm: 6000\n¶cylindres: 4\n":              "did you mean cylinders?",
		"¶colour: red\n":                          "not an input",
		"cylinders: ¶\"4\"\n":                     "quotation marks",
		"cylinders: ¶'4'\n":                       "quotation marks",
		"duty: ¶'80%'\n":                          "quotation marks",
		"cylinders: ¶4.5\n":                       "whole number",
		"power: ¶200\n":                           "has no unit",
		"power: ¶200V\n":                          "not a unit of power",
		"rpm: ¶.nan\n":                            "not a number",
		"rpm: ¶.inf\n":                            "not a number",
		"rpm: ¶0x1770\n":                          "not a number",
		"rpm: ¶6_000\n":                           "not a number",
		"rpm: ¶[6000]\n":                          "single value",
		"rpm: ¶{at: 6000}\n":                      "single value",
		"rpm: ¶&a 6000\n":                         "single value",
		"rpm: ¶true\n":                            "single value",
		"ve: ¶9\n":                                "0.9, not 9",
		"title: T\nfuel: ¶diesel\n":               "use one of",
		"regulator: ¶none\n":                      "manifold or fixed",
		"rpm: 6000\n¶rpm: 7000\n":                 "was given before",
		"¶- 6000\n":                               "one input a line",
		"¶6000\n":                                 "one input a line",
		"¶<<: 3\n":                                "not an input",
		"flow: ¶550\n":                            "has no unit",
		"flow: ¶3kPa\n":                           "or a mass flow",
		"power: ¶0kW\n":                           "not possible",
		"boost: ¶14.5\n":                          "has no unit",
		"rpm: 3000\n¶---\nrpm: 4000\n":            "second document",
		"rpm: 3000\n\n# remark\n  \n¶x: 1\nve: 1": "not an input",
	} {
		at := strings.Index(text, "¶")
		line := 1 + strings.Count(text[:at], "\n")
		column := at - strings.LastIndex(text[:at], "\n")
		in, err := ReadFile(strings.NewReader(strings.Replace(text, "¶", "", 1)), "engine.yaml")
		note, ok := err.(diag.Note)
		if !ok {
			t.Errorf("%q: %v, %v", text, in, err)
			continue
		}
		if note.Place.File != "engine.yaml" || note.Place.Line != line || !strings.HasPrefix(note.Message, "column "+number(float64(column))+":") {
			t.Errorf("%q: %v, want line %d column %d", text, err, line, column)
		}
		if !strings.Contains(note.Message, want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
		if !cmp.Equal(in, Inputs{}) {
			t.Errorf("%q: inputs come with the error", text)
		}
	}
}

// TestNestedFileIsQuick: what is nested without end is refused in no time.
func TestNestedFileIsQuick(t *testing.T) {
	for _, size := range []int{5000, 1 << 20} {
		text := strings.Repeat("a: [", size)
		diagtest.Bounded(t, 1<<20, func() {
			_, err := ReadFile(strings.NewReader(text), "x.yaml")
			if notes := diagtest.Notes(t, err, "x.yaml"); len(notes) != 1 || (size > mostBytes) != strings.Contains(notes[0].Message, "more than 32 kB") {
				t.Errorf("%d bytes: %v", len(text), err)
			}
		})
	}
}

func TestReadFileNeverPanics(t *testing.T) {
	for _, text := range []string{"{", "}", "[", ":", "? ", "!!", "!!binary x: 3", "%YAML", "\x00", "\xff\xfe", "a: b: c", "\t", "&a", "*a: 3", "|", ">", "power: |\n  200hp\n", "power: >\n 200hp\n", "---\n---\n", "power: !!str 3"} {
		if in, err := ReadFile(strings.NewReader(text), "x"); err != nil && !cmp.Equal(in, Inputs{}) {
			t.Errorf("%q: inputs come with %v", text, err)
		}
	}
}

// Every field writes what it reads, whatever was given.
func TestWriteFile(t *testing.T) {
	in := Inputs{}
	for _, f := range Fields() {
		sample := map[string]string{
			"title": "it's: #1", "cylinders": "6", "displacement": "3.2L", "rpm": "6543.5", "power": "331hp", "power_at": "wheels",
			"regulator": "fixed", "fuel": "E60", "bsfc_fuel": "gasoline", "flow_fluid": "mineral spirits", "lambda": "0.82", "afr": "11.8",
			"flow_exponent": "0.49", "flow": "52lb/h", "boost": "-12kPa", "altitude": "-100m", "fuel_density": "0.78g/ml", "voltage": "13.2V",
			"bsfc": "0.6lb/hph", "bsfc_low": "0.5lb/hph", "bsfc_high": "0.7lb/hph", "idle_rpm": "900", "idle_fuel": "1.1l/h", "pump_flow": "255l/h",
			"charge_temp": "113F", "ambient_temp": "-10C", "dead_time": "912us", "linear_from": "1.4ms", "secondary_share": "35%",
		}[f.Key]
		if sample == "" {
			sample = map[string]string{"kPa": "50kPa", "%": "50%", "count": "2"}[f.Unit]
		}
		if err := f.Set(&in, sample); err != nil {
			t.Errorf("%s: %v", f.Key, err)
		}
		if f.Text(in) == "" || f.About == "" || strings.Contains(f.Flag(), "_") {
			t.Errorf("%s: text %q, about %q, flag %q", f.Key, f.Text(in), f.About, f.Flag())
		}
	}
	var out bytes.Buffer
	if err := WriteFile(&out, in); err != nil {
		t.Fatal(err)
	}
	if lines := strings.Count(out.String(), "\n"); lines != len(Fields()) {
		t.Errorf("%d lines for %d fields:\n%s", lines, len(Fields()), &out)
	}
	got, err := ReadFile(&out, "engine.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(in, got, nearly); d != "" {
		t.Error(d)
	}
}

func TestFieldTextIsReadBack(t *testing.T) {
	for _, f := range Fields() {
		if f.Text(Inputs{}) != "" {
			t.Errorf("%s: a field that was not given has the text %q", f.Key, f.Text(Inputs{}))
		}
		for _, bad := range []string{"", "x", "3quux", "nan%", "--1"} {
			in := Inputs{}
			if err := f.Set(&in, bad); err == nil && f.Key != "title" {
				t.Errorf("%s takes %q", f.Key, bad)
			}
		}
	}
}

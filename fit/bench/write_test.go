package bench_test

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"injtab/fit/bench"
	"injtab/fit/diag"
	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// listed compares readings one by one.
var listed = cmp.Transformer("list", bench.Readings.List)

// content compares sheets by what they say, to the last bit, and not by where it
// stood.
var content = []cmp.Option{
	cmpopts.IgnoreFields(bench.Sheet{}, "File", "Sheet", "SHA256", "Wide", "Amounts", "Headers", "Missing", "Notes"),
	cmpopts.IgnoreFields(bench.Reading{}, "Line"),
	cmpopts.EquateEmpty(),
	listed,
}

// written writes a sheet and reads it again.
func written(t rapid.TB, s bench.Sheet) bench.Sheet {
	var b bytes.Buffer
	if err := bench.WriteCSV(&b, s); err != nil {
		t.Fatalf("write: %v", err)
	}
	again, err := bench.Read(bytes.NewReader(b.Bytes()), "again.csv")
	if err != nil {
		t.Fatalf("read again: %v\n%s", err, b.Bytes())
	}
	return again
}

// text draws what people write on injectors and in notes, and what a spreadsheet
// would run.
func text(t *rapid.T, label string) string {
	s := rapid.StringMatching(`[ =+@#'"\-]{0,3}[a-zA-Z0-9,;.°µ= "'\-]{0,8}`).Draw(t, label)
	return strings.TrimSpace(s)
}

func positive(t *rapid.T, label string, lo, hi float64) float64 {
	return rapid.Float64Range(lo, hi).Draw(t, label)
}

// TestWriteRead: any sheet that can be read comes back as it was.
func TestWriteRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := bench.Sheet{Setup: bench.Setup{
			Title: text(t, "title"), Driver: text(t, "driver"),
			RatedPressure: unit.Pressure(positive(t, "rated", 1e4, 1.5e6)),
			PressureLimit: unit.Ratio(positive(t, "gauge", 0, 0.1)), VoltageLimit: unit.Ratio(positive(t, "meter", 0, 0.1)),
			TimerLimit: unit.Time(positive(t, "timer", 0, 1e-4)), Clamp: unit.Voltage(positive(t, "clamp", 0, 60)),
		}}
		weighed := rapid.Bool().Draw(t, "weighed")
		if weighed {
			s.Setup.Fluid, _ = fluid.Custom(unit.Density(positive(t, "density", 600, 1000)))
			s.Setup.HasFluid = true
		}
		withDivision := rapid.Bool().Draw(t, "division of all")
		if withDivision {
			s.Setup.Division = unit.Volume(positive(t, "division", 1e-8, 1e-5))
		}
		for range rapid.IntRange(1, 5).Draw(t, "n") {
			r := bench.Reading{
				Injector: text(t, "injector") + "x",
				Run:      text(t, "run"),
				Pulse:    unit.Time(positive(t, "pulse", 1e-4, 0.02)), Period: unit.Time(positive(t, "period", 0.021, 1)),
				Shots:    float64(rapid.IntRange(1000, 100000).Draw(t, "shots")) / float64(rapid.SampledFrom([]int{1, 8, 7}).Draw(t, "fraction")),
				Pressure: unit.Pressure(positive(t, "pressure", 1e4, 1.5e6)), Voltage: unit.Voltage(positive(t, "voltage", 4, 20)),
			}
			r.Slot, r.Vessel, r.Note = text(t, "slot"), text(t, "vessel"), text(t, "note")
			r.Resistance = unit.Resistance(positive(t, "resistance", 1, 20))
			amount := positive(t, "amount", 1e-9, 1e-4) * rapid.SampledFrom([]float64{0, 1}).Draw(t, "delivers")
			if weighed {
				r.Mass = unit.Mass(amount * 750)
				r.Volume = r.Mass.Of(s.Setup.Fluid.Density)
			} else {
				r.Volume = unit.Volume(amount)
			}
			if withDivision {
				r.Division = s.Setup.Division
			} else if rapid.Bool().Draw(t, "its own division") {
				r.Division = unit.Volume(positive(t, "own division", 1e-8, 1e-5))
			}
			s = with(s, r)
		}
		if diff := cmp.Diff(s, written(t, s), content...); diff != "" {
			t.Fatal(diff)
		}
	})
}

// TestWriteSamples: the sample files come back as they were, and writing is settled
// after once.
func TestWriteSamples(t *testing.T) {
	files, _ := filepath.Glob("../../testdata/bench/good/*")
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		s, err := bench.Read(bytes.NewReader(data), file)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(s, written(t, s), content...); diff != "" {
			t.Errorf("%s: %s", file, diff)
		}
	}
}

func TestWriteCanonical(t *testing.T) {
	var b bytes.Buffer
	s := read(t, "# pressure_psi = 43.5\n# voltage_v = 13,5\n# title = Spring\ninjector;pulse_us;frequency_hz;duration_s;volume_cc;temp_c\n=7;2500;100;30;64,5;20\n8;0;100;30;0;\n")
	if err := bench.WriteCSV(&b, s); err != nil {
		t.Fatal(err)
	}
	const want = `# title = Spring
# rated_pressure_kpa = 300
# pressure_uncertainty_pct = 0.5
# voltage_uncertainty_pct = 0.4
# timer_uncertainty_us = 5
injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v,temp_c
'=7,2.5,10,3000,64.5,299.92194225282373,13.5,20
8,0,10,3000,0,299.92194225282373,13.5,
`
	if diff := cmp.Diff(want, b.String()); diff != "" {
		t.Error(diff)
	}
}

func TestWriteRefuses(t *testing.T) {
	r := bench.Reading{Injector: "7", Pulse: 0.0025, Period: 0.01, Shots: 10, Volume: 1e-6, Pressure: 3e5, Voltage: 13.5}
	weighed, bad := r, r
	weighed.Mass, bad.Note = 1e-3, "\xff"
	for name, s := range map[string]bench.Sheet{
		"line break in title": {Setup: bench.Setup{Title: "a\nb"}, Readings: bench.NewReadings(r)},
		"weighed and read":    {Readings: bench.NewReadings(weighed, r)},
		"no text":             {Readings: bench.NewReadings(bad)},
	} {
		if err := bench.WriteCSV(new(bytes.Buffer), s); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// checkFinite checks a sheet and looks for numbers that are none.
func checkFinite(t *testing.T, s bench.Sheet) {
	c, notes, err := bench.Check(s)
	if err != nil {
		t.Fatal(err)
	}
	for i, inj := range c.Injectors() {
		for p, pt := range c.Points() {
			m := c.Mean(i, p)
			pct, _ := c.Deviation(i, p)
			flow, _ := c.FlowAt(i, p)
			for _, x := range []float64{float64(m.PerShot), float64(m.U), pct, float64(flow), float64(pt.Pressure), float64(pt.Voltage)} {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					t.Fatalf("%s at %v: %+v, %v %%, %v", inj.ID, pt, m, pct, flow)
				}
			}
		}
		for _, r := range inj.Reasons {
			notes = append(notes, diag.Note{Message: r})
		}
	}
	for _, n := range notes {
		for _, word := range strings.Fields(n.Message) {
			if strings.HasPrefix(word, "NaN") || strings.HasPrefix(strings.TrimLeft(word, "+-"), "Inf") {
				t.Fatal(n)
			}
		}
	}
}

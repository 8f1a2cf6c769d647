package bench_test

import (
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"injtab/fit/bench"
	"injtab/fit/diag"
)

const head = "injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v\n"

func read(t *testing.T, text string) bench.Sheet {
	t.Helper()
	s, err := bench.Read(strings.NewReader(text), "b.csv")
	if err != nil {
		t.Fatalf("%v\nin\n%s", err, text)
	}
	return s
}

// near tells whether two numbers agree to nine digits.
func near(got, want float64) bool {
	d := got - want
	return d <= 1e-9*want && -d <= 1e-9*want
}

// TestReadForms reads one and the same reading written in every way there is: 2.5 ms
// of 10 ms, 3000 shots, 64.5 ml, 300 kPa, 13.5 V, 21 °C.
func TestReadForms(t *testing.T) {
	for name, text := range map[string]string{
		"long":           head + "7,2.5,10,3000,64.5,300,13.5\n",
		"no last line":   head + "7,2.5,10,3000,64.5,300,13.5",
		"other order":    "voltage_v,pressure_kpa,volume_ml,shots,period_ms,pulse_ms,injector\n13.5,300,64.5,3000,10,2.5,7\n",
		"letter case":    "Injector,PULSE_MS,Period_ms,Shots,Volume_ML,Pressure_kPa,Voltage_V\n7,2.5,10,3000,64.5,300,13.5\n",
		"blanks":         "injector , pulse_ms, period_ms,shots,volume_ml ,pressure_kpa,voltage_v\n 7, 2.5 ,10,3000,64.5,\u00a0300,13.5 \n",
		"BOM":            "\uFEFF" + head + "7,2.5,10,3000,64.5,300,13.5\n",
		"CRLF":           strings.ReplaceAll(head+"7,2.5,10,3000,64.5,300,13.5\n", "\n", "\r\n"),
		"CR":             strings.ReplaceAll(head+"7,2.5,10,3000,64.5,300,13.5\n", "\n", "\r"),
		"blank lines":    "\n" + head + "\n7,2.5,10,3000,64.5,300,13.5\n,,,,,,\n",
		"quotes":         "\"injector\",pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v\n\"7\",2.5,10,\"3000\",64.5,300,13.5\n",
		"exponent":       head + "7,0.25e1,1E1,3e3,645e-1,3.0e+2,+13.5\n",
		"many digits":    head + "7,2.50000000000000000000000000,10,3000,64.5,300.0000000000000000000000,13.5\n",
		"tabs":           strings.ReplaceAll(head+"7,2.5,10,3000,64.5,300,13.5\n", ",", "\t"),
		"semicolons":     strings.ReplaceAll(head+"7,2.5,10,3000,64.5,300,13.5\n", ",", ";"),
		"decimal commas": strings.ReplaceAll(head, ",", ";") + "7;2,5;10;3000;64,5;300;13,5\n",
		"commas, tabs":   strings.ReplaceAll(head, ",", "\t") + "7\t2,5\t10\t3000\t64,5\t300,0\t13,5\n",
		"us, hz, s, cc":  "injector,pulse_us,frequency_hz,duration_s,volume_cc,pressure_bar,voltage_v\n7,2500,100,30,64.5,3,13.5\n",
		"min, period us": "injector,pulse_us,period_us,duration_min,volume_cc,pressure_bar,voltage_v\n7,2500,10000,0.5,64.5,3,13.5\n",
		"setup lines":    "# pulse_ms = 2.5\n#period_ms=10\n# shots = 3000\n# pressure_bar = 3\n# VOLTAGE_V = 13.5\ninjector,volume_ml\n7,64.5\n",
		"all in setup":   "# injector = 7\n# pulse_ms = 2.5\n# period_ms = 10\n# shots = 3000\n# pressure_kpa = 300\n# voltage_v = 13.5\nvolume_ml\n64.5\n",
		"setup commas":   "# pressure_bar = 3,0\ninjector;pulse_ms;period_ms;shots;volume_ml;voltage_v\n7;2,5;10;3000;64,5;13,5\n",
		"padded setup":   "# pressure_kpa = 300,,,,,\n\"# title = a, b\",,,,,\ninjector,pulse_ms,period_ms,shots,volume_ml,voltage_v\n7,2.5,10,3000,64.5,13.5\n",
		"title above":    "Bench session,,,,,,\n" + head + "7,2.5,10,3000,64.5,300,13.5\n",
		"remark":         "# a remark\n" + head + "# another, with a comma\n7,2.5,10,3000,64.5,300,13.5\n",
		"wide":           "pulse_ms,period_ms,shots,pressure_kpa,voltage_v,7\n2.5,10,3000,300,13.5,64.5\n",
		"wide, number 7": "# pressure_kpa = 300\n# voltage_v = 13.5\n7,pulse_ms,period_ms,shots\n64.5,2.5,10,3000\n",
		"wide cc":        "# reading = volume_cc\npulse_ms,period_ms,shots,pressure_kpa,voltage_v,7\n2.5,10,3000,300,13.5,64.5\n",
		"wide, grams":    "# reading = mass_g\n# density_kg_m3 = 1000\npulse_ms,period_ms,shots,pressure_kpa,voltage_v,7\n2.5,10,3000,300,13.5,64.5\n",
		"milligrams":     "# density_kg_m3 = 1000\ninjector,pulse_ms,period_ms,shots,mass_mg,pressure_kpa,voltage_v\n7,2.5,10,3000,64500,300,13.5\n",
		"empty column":   "injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v,,\n7,2.5,10,3000,64.5,300,13.5,,\n",
	} {
		t.Run(name, func(t *testing.T) {
			s := read(t, text)
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

// TestReadExact: powers of ten are no reason to lose a digit: the value is the
// number nearest to the decimal that was written.
func TestReadExact(t *testing.T) {
	r := read(t, head+"7,2.3,10,3000,64.7,290.1,13.7\n").Readings.At(0)
	got := []float64{float64(r.Pulse), float64(r.Volume), float64(r.Pressure), float64(r.Voltage)}
	if diff := cmp.Diff([]float64{0.0023, 64.7e-6, 290.1e3, 13.7}, got); diff != "" {
		t.Error(diff)
	}
}

func TestReadOptional(t *testing.T) {
	s := read(t, `# title = Spring, "before"
# fluid = n-heptane
# rated_pressure_kpa = 350
# division_ml = 0.5
# vessel_tolerance_ml = 1
# pressure_uncertainty_pct = 1
# voltage_uncertainty_pct = 0.2
# timer_uncertainty_us = 10
# driver = saturated
# clamp_v = 36
# wiring_drop_v = 0.4
injector,run,slot,vessel,pulse_ms,period_ms,shots,volume_ml,pressure_psi,voltage_v,temp_f,resistance_ohm,note
A-1,2,3,B,2.5,10,3000,64.5,43.5,13.5,68,14.5,"again, ""slowly"""
'=cmd,2,4,C,2.5,10,3000,0,43.5,13.5,68,,
`)
	r := s.Readings.At(0)
	if r.Run != "2" || r.Slot != "3" || r.Vessel != "B" || r.Note != `again, "slowly"` || r.Injector != "A-1" {
		t.Errorf("texts: %+v", r)
	}
	// 1 psi = 6894.757 Pa (NIST SP 811, table B.8); 68 °F = 20 °C.
	if d := r.Pressure.KPa() - 299.92193; d > 1e-4 || d < -1e-4 || !near(r.Temp.C(), 20) || !near(float64(r.Resistance), 14.5) {
		t.Errorf("quantities: %+v", r)
	}
	if got := s.Readings.At(1); got.Injector != "=cmd" || got.Volume != 0 {
		t.Errorf("the apostrophe that guards a formula is kept: %+v", got)
	}
	u := s.Setup
	if u.Title != `Spring, "before"` || u.Driver != "saturated" || !u.HasFluid || u.Fluid.Name != "n-heptane" {
		t.Errorf("texts of the setup: %+v", u)
	}
	if !near(u.RatedPressure.KPa(), 350) || !near(u.Division.Ml(), 0.5) || !near(u.VesselLimit.Ml(), 1) || !near(u.PressureLimit.Pct(), 1) ||
		!near(u.VoltageLimit.Pct(), 0.2) || !near(u.TimerLimit.Ms(), 0.01) || !near(u.Clamp.V(), 36) || !near(u.WiringDrop.V(), 0.4) || !near(u.Temp.C(), 20) {
		t.Errorf("quantities of the setup: %+v", u)
	}
	if !near(r.Division.Ml(), 0.5) {
		t.Errorf("the division of the setup is not that of the reading: %v", r.Division)
	}
}

func TestReadDefaults(t *testing.T) {
	u := read(t, head+"7,2.5,10,3000,64.5,300,13.5\n").Setup
	if !near(u.RatedPressure.KPa(), 300) || !near(u.PressureLimit.Pct(), 0.5) || !near(u.VoltageLimit.Pct(), 0.4) || !near(u.TimerLimit.Ms(), 0.005) {
		t.Errorf("defaults: %+v", u)
	}
}

// TestReadMass: n-heptane has 679.61 kg/m³ at 25 °C (Luning Prak, Cowart and
// Trulove, J. Chem. Eng. Data 2014).
func TestReadMass(t *testing.T) {
	const mass = "injector,pulse_ms,period_ms,shots,mass_g,pressure_kpa,voltage_v,temp_c\n"
	s := read(t, "# fluid = n-heptane\n"+mass+"7,2.5,10,3000,67.961,300,13.5,25\n8,2.5,10,3000,67.961,300,13.5,35\n9,2.5,10,3000,67.961,300,13.5,\n")
	if v := s.Readings.At(0).Volume.Ml(); !near(v, 100) {
		t.Errorf("at 25 °C: %v ml, want 100", v)
	}
	warm, bench := s.Readings.At(1).Volume, s.Readings.At(2).Volume
	if want := 100 * (1 + 1.23e-3*10); !near(warm.Ml(), want) {
		t.Errorf("at 35 °C: %v ml, want %v", warm.Ml(), want)
	}
	if want := 100 * (1 + 1.23e-3*5); !near(bench.Ml(), want) {
		t.Errorf("without its own temperature, at the median of the bench: %v ml, want %v", bench.Ml(), want)
	}
	if !near(s.Readings.At(0).Mass.Grams(), 67.961) {
		t.Errorf("mass: %v", s.Readings.At(0).Mass)
	}
	s = read(t, "# fluid = n-heptane\n# density_kg_m3 = 700\n# temp_c = 40\n# division_g = 0.07\n"+strings.Replace(mass, ",temp_c", "", 1)+"7,2.5,10,3000,70,300,13.5\n")
	if v := s.Readings.At(0).Volume.Ml(); !near(v, 100) {
		t.Errorf("a density given is that at bench temperature: %v ml, want 100", v)
	}
	if d := s.Setup.Division.Ml(); !near(d, 0.1) {
		t.Errorf("division %v ml, want 0.1", d)
	}
	s = read(t, "# fluid = n-heptane\n"+strings.Replace(mass, ",temp_c", "", 1)+"7,2.5,10,3000,70,300,13.5\n")
	if len(s.Notes) != 1 || s.Notes[0].Code != "no-temperature" {
		t.Errorf("no warning that the temperature is not known: %v", s.Notes)
	}
}

func TestReadLeakAndStatic(t *testing.T) {
	s := read(t, "injector,pulse_ms,frequency_hz,duration_s,volume_ml,pressure_kpa,voltage_v\n"+
		"7,0,,120,3,300,\n7,0,0,120,3,300,13.5\n7,16.67,60,10,70,300,13.5\n7,0,50,120,3,300,13.5\n")
	for i, r := range s.Readings.All() {
		switch {
		case i == 2 && (!r.Static() || r.Leak() || !near(r.Duration().Seconds(), 10)):
			t.Errorf("a pulse of 16.67 ms at 60 Hz is held open: %+v", r)
		case i != 2 && (!r.Leak() || r.Static() || !near(r.Duration().Seconds(), 120)):
			t.Errorf("reading %d is a leak test of 120 s: %+v", i, r)
		}
	}
}

func TestReadMissing(t *testing.T) {
	for _, c := range []struct {
		file              string
		readings, missing int
	}{{"half_filled.csv", 2, 2}, {"wide.csv", 11, 1}} {
		text, err := os.ReadFile(filepath.Join("../../testdata/bench/good", c.file))
		if err != nil {
			t.Fatal(err)
		}
		if s := read(t, string(text)); s.Readings.Len() != c.readings || s.Missing != c.missing {
			t.Errorf("%s: %d readings, %d missing, want %d, %d", c.file, s.Readings.Len(), s.Missing, c.readings, c.missing)
		}
	}
}

func TestReadPlaces(t *testing.T) {
	const text = "# a remark\n\npulse_ms,period_ms,shots,pressure_kpa,voltage_v,7,A\n\n2.5,10,3000,300,13.5,64.5,66\n"
	s := read(t, text)
	if !s.Wide || s.File != "b.csv" {
		t.Errorf("wide %v, file %q", s.Wide, s.File)
	}
	for i, want := range []string{"b.csv, line 5, column 7", "b.csv, line 5, column A"} {
		if got := s.At(s.Readings.At(i)).String(); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	if got, want := s.SHA256, fmt.Sprintf("%x", sha256.Sum256([]byte(text))); got != want {
		t.Errorf("hash %s, want %s", got, want)
	}
}

// TestReadSame: lines of a quoted cell count, and both ways of splitting agree.
func TestReadQuoted(t *testing.T) {
	s := read(t, strings.TrimSuffix(head, "\n")+",note\n7,2.5,10,3000,64.5,300,13.5,\"two\nlines\"\n8,2.5,10,3000,64.5,300,13.5,x\n")
	if r := s.Readings.At(1); s.Readings.At(0).Note != "two\nlines" || r.Line != 4 {
		t.Errorf("note %q, next line %d, want 4", s.Readings.At(0).Note, r.Line)
	}
}

func TestReadHashIDs(t *testing.T) {
	s := read(t, head+"#7,2.5,10,3000,64.5,300,13.5\n#8,2.5,10,3000,64.5,300,13.5\n")
	if s.Readings.Len() != 2 || s.Readings.At(0).Injector != "#7" {
		t.Errorf("injectors named with # are lost: %+v", s.Readings)
	}
}

func TestGoodFiles(t *testing.T) {
	files, err := filepath.Glob("../../testdata/bench/good/*")
	if err != nil || len(files) < 5 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	for _, file := range files {
		f, err := os.Open(file)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		s, err := bench.Read(f, file)
		if err != nil {
			t.Error(err)
			continue
		}
		_, notes, err := bench.Check(s)
		for _, n := range notes {
			if n.Code != "few-injectors" {
				t.Errorf("%s: %v", file, n)
			}
		}
		if err != nil {
			t.Errorf("%s: %v", file, err)
		}
	}
}

// errorsOf gives the notes of an error of Read.
func errorsOf(t *testing.T, err error) []diag.Note {
	t.Helper()
	var notes []diag.Note
	for _, e := range unjoin(err) {
		n, ok := e.(diag.Note)
		if !ok {
			t.Fatalf("%T is no note: %v", e, e)
		}
		notes = append(notes, n)
	}
	return notes
}

func unjoin(err error) []error {
	if j, ok := err.(interface{ Unwrap() []error }); ok {
		return j.Unwrap()
	}
	return []error{err}
}

// TestWeighedNothing: where nothing was delivered at all, nothing was weighed either.
func TestWeighedNothing(t *testing.T) {
	const text = "# fluid = n-heptane\ninjector,pulse_ms,period_ms,shots,mass_g,pressure_kpa,voltage_v\na,3,20,1000,0,300,13.5\nb,3,20,1000,0,300,13.5\n"
	s, err := bench.Read(strings.NewReader(text), "b.csv")
	if err != nil {
		t.Fatal(err)
	}
	for k, r := range s.Readings.All() {
		if r.Volume > 0 || r.Mass > 0 {
			t.Errorf("reading %d delivered %v m³ and %v kg", k, r.Volume, r.Mass)
		}
	}
	c := check(t, s)
	for _, inj := range c.Injectors() {
		if inj.Verdict != bench.Dead {
			t.Errorf("injector %s is %v", inj.ID, inj.Verdict)
		}
	}
}

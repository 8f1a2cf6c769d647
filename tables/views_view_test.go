package tables

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"injtab/fit"
	"injtab/fit/bench"
	"injtab/fit/diag"
	"injtab/fit/fluid"
	"injtab/fit/sim"
)

// demoModel is the fitted session of the demonstration.
func demoModel(t testing.TB) *fit.Model {
	t.Helper()
	m, _ := fittedCSV(t, sim.DemoCSV())
	return m
}

// ecuOf is an ECU with the tables of a model.
func ecuOf(t testing.TB, m *fit.Model, o Options) *ECU {
	t.Helper()
	set, err := Build(m, o)
	if err != nil {
		t.Fatal(err)
	}
	e, err := NewECU(set.Tables)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// fittedCSV reads, checks and fits a bench file; notes are those of the check.
func fittedCSV(t testing.TB, csv []byte) (m *fit.Model, notes []diag.Note) {
	t.Helper()
	sheet, err := bench.Read(bytes.NewReader(csv), "bench.csv")
	if err != nil {
		t.Fatal(err)
	}
	c, notes, err := bench.Check(sheet)
	if err != nil {
		t.Fatal(err)
	}
	m, err = fit.Injectors(c, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return m, notes
}

func TestParseHoldOut(t *testing.T) {
	for text, want := range map[string]string{
		"every 5th": "every 5th", "Every 2nd": "every 2nd", " every  3 ": "every 3rd", "every 11th": "every 11th", "every 21st": "every 21st",
	} {
		if h, err := ParseHoldOut(text); err != nil || h.String() != want+" reading of each injector" {
			t.Errorf("%q: got %v, %v; want %s", text, h, err, want)
		}
	}
	for _, text := range []string{"", "every", "every 1st", "every 0th", "5th", "every 99999999999999999999th", "every 5.5th"} {
		if h, err := ParseHoldOut(text); err == nil {
			t.Errorf("%q was read as %v", text, h)
		}
	}
}

// TestHoldOutTakesOfEveryInjector: in a file with a column for each injector plain
// counting would hold out all readings of some and none of the others.
func TestHoldOutTakesOfEveryInjector(t *testing.T) {
	var readings []bench.Reading
	for range 10 {
		for _, id := range []string{"1", "2", "3", "4", "5"} {
			readings = append(readings, bench.Reading{Injector: id})
		}
	}
	held, points := map[string]int{}, map[int]int{}
	for i, out := range (HoldOut{Every: 5}).mask(bench.NewReadings(readings...)) {
		if out {
			held[readings[i].Injector]++
			points[i/5]++
		}
	}
	for _, id := range []string{"1", "2", "3", "4", "5"} {
		if held[id] != 2 {
			t.Errorf("%d readings of injector %s are held out, want 2", held[id], id)
		}
	}
	if len(points) != 10 {
		t.Errorf("held out at %d of 10 points", len(points))
	}
}

// TestHeldOutReadingsHaveNoSay: a reading that is held out can be anything without
// moving the tables that the others make.
func TestHeldOutReadingsHaveNoSay(t *testing.T) {
	m := demoModel(t)
	h := HoldOut{Every: 7}
	sheet := m.Checked.Sheet()
	spoilt := sheet.Readings.List()
	held := h.mask(sheet.Readings)
	for i := range spoilt {
		if held[i] {
			spoilt[i].Volume *= 1.05
		}
	}
	before, err := without(m.Checked, h.mask(m.Checked.Readings()))
	if err != nil {
		t.Fatal(err)
	}
	sheet.Readings = bench.NewReadings(spoilt...)
	c, _, err := bench.Check(sheet)
	if err != nil {
		t.Fatal(err)
	}
	after, err := without(c, h.mask(c.Readings()))
	if err != nil {
		t.Fatal(err)
	}
	a, b := before.Readings().List(), after.Readings().List()
	if len(a) != len(b) || len(a) >= m.Checked.Readings().Len() {
		t.Fatalf("%d and %d readings of %d", len(a), len(b), m.Checked.Readings().Len())
	}
	for i := range a {
		if a[i] != b[i] {
			t.Fatalf("reading %d differs: %v and %v", i, a[i], b[i])
		}
	}
}

func TestSessionTellsTheVolumeFactor(t *testing.T) {
	m := demoModel(t)
	fuel, err := fluid.Lookup("E85")
	if err != nil {
		t.Fatal(err)
	}
	o := Options{Fuel: &fuel, Pressure: AxisSpec{Values: []float64{250, 350}}, Pulse: AxisSpec{Values: []float64{1, 4, 8}}}
	set, err := Build(m, o)
	if err != nil {
		t.Fatal(err)
	}
	ecu, err := NewECU(set.Tables)
	if err != nil {
		t.Fatal(err)
	}
	if err := ecu.TakeSession(append(set.Tables, set.Session(o))); err != nil {
		t.Fatal(err)
	}
	// √(ρ_heptane / ρ_E85) at about 20 °C, by the orifice law: 0.93.
	if math.Abs(ecu.VolumeFactor-0.93) > 0.01 || math.Abs(ecu.VolumeFactor-set.VolumeFactor) > 1e-6 {
		t.Errorf("volume factor %v, set %v", ecu.VolumeFactor, set.VolumeFactor)
	}
	if err := ecu.TakeSession(set.Tables); err == nil {
		t.Error("a missing session table was not told")
	}
}

func TestDisagreementFindsOneCell(t *testing.T) {
	m := demoModel(t)
	flow := Deviation(m.Checked)
	if d := Disagreement([]Table{flow}, []Table{flow}); d != "" {
		t.Error(d)
	}
	other := flow
	other.Cells = append([][]Cell{}, flow.Cells...)
	other.Cells[2] = append([]Cell{}, flow.Cells[2]...)
	other.Cells[2][1] = Cell{Value: 99}
	if d := Disagreement([]Table{flow}, []Table{other}); !strings.Contains(d, "row L3") || !strings.Contains(d, "99") {
		t.Errorf("got %q", d)
	}
	if d := Disagreement([]Table{flow}, nil); d == "" {
		t.Error("a missing table was not told")
	}
}

// TestViewsAreFinite: JSON has no form for NaN and infinity, so marshalling proves
// that there are none; charts are checked one by one.
func TestViewsAreFinite(t *testing.T) {
	m := demoModel(t)
	check, fitted := NewCheck(m.Checked, m.Checked.Notes()), NewFit(m, nil)
	for _, v := range []any{check, fitted, NewFluids()} {
		if _, err := json.Marshal(v); err != nil {
			t.Error(err)
		}
	}
	for _, s := range append(check.Report().Sections, fitted.Section()) {
		for _, c := range s.Charts {
			checkChart(t, c)
		}
	}
}

func checkChart(t *testing.T, c Chart) {
	t.Helper()
	if c.Alt == "" || len(c.Series) == 0 {
		t.Errorf("chart %s has no series or no text for those who can't see it", c.Name)
	}
	for _, s := range c.Series {
		if len(s.X) != len(s.Y) || len(s.X) == 0 || s.Lo != nil && len(s.Lo) != len(s.Y) || s.Labels != nil && len(s.Labels) != len(s.Y) {
			t.Errorf("chart %s, series %s: %d X, %d Y, %d Lo, %d labels", c.Name, s.Name, len(s.X), len(s.Y), len(s.Lo), len(s.Labels))
		}
		for i := range s.Y {
			if !finite(s.X[i]) || !finite(s.Y[i]) {
				t.Errorf("chart %s, series %s: point %d is %v, %v", c.Name, s.Name, i, s.X[i], s.Y[i])
			}
		}
	}
}

func TestCheckBroken(t *testing.T) {
	r := CheckResult{Injectors: []InjectorVerdict{{Injector: "1", Verdict: "sound"}, {Injector: "2", Verdict: "leaking"}}, Findings: []Finding{{}}}
	for _, c := range []struct {
		watched string
		broken  int
	}{{"dead", 0}, {"leaking", 1}, {"unsound", 1}, {"warning", 1}} {
		if got := r.Broken([]string{c.watched}); len(got) != c.broken {
			t.Errorf("%s: %v", c.watched, got)
		}
	}
}

func TestThinnedKeepsTheEnds(t *testing.T) {
	for _, n := range []int{0, 1, 8, 9, 64} {
		got := thinned(n)
		if len(got) > mostLines || n > 0 && (got[0] != 0 || got[len(got)-1] != n-1) {
			t.Errorf("of %d: %v", n, got)
		}
	}
}

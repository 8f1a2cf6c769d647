package bench_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"injtab/fit/bench"
	"injtab/fit/unit"
)

// A rail is a made-up session: straight-line injectors, q = flow·(pulse − dead), read
// to a division. The numbers are invented.
type rail struct {
	ids      []string
	flow     map[string]float64 // ml/min at 300 kPa; 450 unless given
	dead     map[string]float64 // ms; 0.8 unless given
	pulses   []float64          // ms
	voltages []float64
	shots    float64
	division float64 // ml
}

func sixPulses(n int) rail {
	r := rail{pulses: []float64{1.5, 2, 3, 4, 6, 10}, voltages: []float64{13.5}, shots: 1000, division: 0.1,
		flow: map[string]float64{}, dead: map[string]float64{}}
	spread := []float64{0, 4, -5, 2, -3, 6, -2, 3, -6, 1, 5, -4} // ml/min, invented
	late := []float64{0, 0.02, -0.01, 0.03, -0.02, 0.01, 0, -0.03, 0.02, 0.01, -0.01, 0.02}
	for i := range n {
		id := fmt.Sprint(i + 1)
		r.ids = append(r.ids, id)
		r.flow[id], r.dead[id] = 450+spread[i%12], 0.8+late[i%12]
	}
	return r
}

// with is a sheet with more readings.
func with(s bench.Sheet, more ...bench.Reading) bench.Sheet {
	s.Readings = bench.NewReadings(append(s.Readings.List(), more...)...)
	return s
}

// readings runs the rail; change may alter any reading.
func (r rail) readings(change ...func(*bench.Reading)) bench.Sheet {
	s := bench.Sheet{File: "b.csv", Amounts: "volume_ml", Setup: bench.Setup{RatedPressure: unit.KPa(300), Division: unit.Ml(r.division)}}
	var list []bench.Reading
	for v, volts := range r.voltages {
		for p, ms := range r.pulses {
			for k, id := range r.ids {
				dead := r.dead[id] * 13.5 / volts
				ml := r.flow[id] / 60000 * math.Max(0, ms-dead) * r.shots
				reading := bench.Reading{
					Injector: id, Pulse: unit.Ms(ms), Period: unit.Ms(20), Shots: r.shots, Pressure: unit.KPa(300), Voltage: unit.Volts(volts),
					Volume: unit.Ml(math.Round(ml/r.division) * r.division), Division: unit.Ml(r.division),
					Line: 2 + (v*len(r.pulses)+p)*len(r.ids) + k,
				}
				for _, c := range change {
					c(&reading)
				}
				list = append(list, reading)
			}
		}
	}
	s.Readings = bench.NewReadings(list...)
	return s
}

func check(t *testing.T, s bench.Sheet) *bench.Checked {
	t.Helper()
	c, notes, err := bench.Check(s)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(notes, c.Notes()); diff != "" {
		t.Error(diff)
	}
	return &c
}

func verdicts(c *bench.Checked) map[string]string {
	all := map[string]string{}
	for _, i := range c.Injectors() {
		all[i.ID] = i.Verdict.String()
	}
	return all
}

func codes(c *bench.Checked) []string {
	var all []string
	for _, n := range c.Notes() {
		all = append(all, n.Code)
	}
	return all
}

func TestCheckSound(t *testing.T) {
	c := check(t, sixPulses(8).readings())
	for id, v := range verdicts(c) {
		if v != "sound" {
			t.Errorf("injector %s is %s", id, v)
		}
	}
	if len(c.Notes()) > 0 {
		t.Errorf("notes: %v", c.Notes())
	}
	if got := len(c.Points()); got != 6 {
		t.Errorf("%d points, want 6", got)
	}
}

func TestCheckNothing(t *testing.T) {
	_, _, err := bench.Check(bench.Sheet{File: "b.csv"})
	if err == nil || !says(err.Error(), "b.csv: there is no reading") {
		t.Errorf("got %v", err)
	}
}

func TestCheckFew(t *testing.T) {
	onePulse, oneReading := sixPulses(8), sixPulses(1)
	onePulse.pulses = []float64{3}
	oneReading.pulses = []float64{3}
	twoVolts := sixPulses(8)
	twoVolts.voltages = []float64{11, 14}
	for name, c := range map[string]struct {
		rail  rail
		notes []string
	}{
		"one injector":              {sixPulses(1), []string{"few-injectors"}},
		"two":                       {sixPulses(2), []string{"few-injectors"}},
		"three":                     {sixPulses(3), []string{"few-injectors"}},
		"four":                      {sixPulses(4), nil},
		"one pulse":                 {onePulse, nil},
		"one injector at one pulse": {oneReading, []string{"few-injectors"}},
		"two voltages":              {twoVolts, nil},
	} {
		t.Run(name, func(t *testing.T) {
			got := check(t, c.rail.readings())
			if diff := cmp.Diff(c.notes, codes(got)); diff != "" {
				t.Errorf("notes: %s", diff)
			}
			if len(got.Sound()) != len(c.rail.ids) {
				t.Errorf("verdicts %v", verdicts(got))
			}
		})
	}
}

func TestCheckDead(t *testing.T) {
	r := sixPulses(8)
	r.flow["3"] = 0
	c := check(t, r.readings())
	if got := c.Injectors()[2]; got.Verdict != bench.Dead || len(got.Reasons) != 1 {
		t.Errorf("got %+v", got)
	}
	if len(c.Sound()) != 7 {
		t.Errorf("verdicts %v", verdicts(c))
	}
	for id := range r.flow {
		r.flow[id] = 0
	}
	c = check(t, r.readings()) // all of them: still an answer
	for id, v := range verdicts(c) {
		if v != "dead" {
			t.Errorf("injector %s is %s", id, v)
		}
	}
}

func TestCheckOutlier(t *testing.T) {
	r := sixPulses(8)
	r.flow["3"], r.dead["6"] = 370, 1.3
	c := check(t, r.readings())
	want := map[string]string{"1": "sound", "2": "sound", "3": "outlier", "4": "sound", "5": "sound", "6": "outlier", "7": "sound", "8": "sound"}
	if diff := cmp.Diff(want, verdicts(c)); diff != "" {
		t.Error(diff)
	}
	if got := c.Injectors()[2].Reasons[0]; !says(got, "flows 1…% less than its family") {
		t.Errorf("reason %q", got)
	}
	if got := c.Injectors()[5].Reasons[0]; !says(got, "opens 0.…ms later…1.5 ms 300 kPa 13.5 V") {
		t.Errorf("reason %q", got)
	}
}

func TestCheckLeaking(t *testing.T) {
	r := sixPulses(8)
	r.pulses = append([]float64{0.3}, r.pulses...)
	c := check(t, r.readings(func(r *bench.Reading) {
		if r.Injector == "5" { // 3 ml/min all the time
			r.Volume += unit.Volume(3e-6 / 60 * float64(r.Duration()))
		}
	}))
	if got := c.Injectors()[4]; got.Verdict != bench.Leaking || !says(got.Reasons[0], "1 pulse too short") {
		t.Errorf("got %+v", got)
	}
	if len(c.Sound()) != 7 {
		t.Errorf("verdicts %v", verdicts(c))
	}
}

func TestCheckEarly(t *testing.T) {
	r := sixPulses(8)
	r.dead["5"] = 0.4
	got := check(t, r.readings()).Injectors()[4]
	if got.Verdict != bench.Leaking || !says(got.Reasons[0], "against its family at 1.5 ms…a leak test tells") {
		t.Errorf("got %+v", got)
	}
}

func TestCheckLeakTest(t *testing.T) {
	s := sixPulses(4).readings()
	for i, ml := range []float64{0, 0.1, 0, 5} {
		s = with(s, bench.Reading{Injector: fmt.Sprint(i + 1), Period: 120, Shots: 1, Volume: unit.Ml(ml), Pressure: unit.KPa(300), Division: unit.Ml(0.1)})
	}
	c := check(t, s)
	if diff := cmp.Diff(map[string]string{"1": "sound", "2": "sound", "3": "sound", "4": "leaking"}, verdicts(c)); diff != "" {
		t.Error(diff)
	}
	if got := c.Injectors()[3]; !got.LeakTest || !near(got.Leak.MlMin(), 2.5) || !says(got.Reasons[0], "2.5 ml/min") {
		t.Errorf("got %+v", got)
	}
	last := c.Points()[len(c.Points())-1]
	if !last.Leak || last.String() != "leak test 300 kPa" {
		t.Errorf("the last point is %v, want the leak test", last)
	}
	if flow, ok := c.FlowAt(3, len(c.Points())-1); !ok || !near(flow.MlMin(), 2.5) {
		t.Errorf("flow %v", flow.MlMin())
	}
}

func TestCheckErratic(t *testing.T) {
	r := sixPulses(8)
	off := map[float64]unit.Volume{1.5: 1.1, 2: 0.92, 3: 1.12, 4: 0.9, 6: 1.07, 10: 0.88}
	c := check(t, r.readings(func(r *bench.Reading) {
		if r.Injector == "4" {
			r.Volume *= off[math.Round(r.Pulse.Ms()*10)/10]
		}
	}))
	if got := c.Injectors()[3]; got.Verdict != bench.Erratic || len(c.Sound()) != 7 {
		t.Errorf("verdicts %v, %v", verdicts(c), got.Reasons)
	}
}

// TestCheckJunk: a quarter of junk does not move what the rest are judged by.
func TestCheckJunk(t *testing.T) {
	r := sixPulses(12)
	r.flow["2"], r.flow["5"], r.flow["9"] = 600, 610, 590
	c := check(t, r.readings())
	if got := verdicts(c); len(c.Sound()) != 9 || got["2"] != "outlier" || got["5"] != "outlier" || got["9"] != "outlier" {
		t.Errorf("verdicts %v", got)
	}
}

// TestCheckOrder: nothing depends on the order of the rows.
func TestCheckOrder(t *testing.T) {
	r := sixPulses(8)
	r.flow["3"] = 350
	r.voltages = []float64{11, 13.5}
	s := r.readings(func(r *bench.Reading) {
		if r.Line == 30 {
			r.Volume *= 2
		}
	})
	want := check(t, s)
	rng := rand.New(rand.NewPCG(3, 4))
	for range 5 {
		shuffled := s
		list := s.Readings.List()
		rng.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
		shuffled.Readings = bench.NewReadings(list...)
		got := check(t, shuffled)
		if diff := cmp.Diff(want.Points(), got.Points()); diff != "" {
			t.Fatal(diff)
		}
		if diff := cmp.Diff(want.Injectors(), got.Injectors()); diff != "" {
			t.Fatal(diff)
		}
		if diff := cmp.Diff(want.Notes(), got.Notes()); diff != "" {
			t.Fatal(diff)
		}
	}
}

func TestCheckHelpers(t *testing.T) {
	r := sixPulses(4)
	for _, id := range r.ids {
		r.flow[id], r.dead[id] = 450, 0.8
	}
	r.flow["2"], r.division = 459, 1e-6
	c := check(t, r.readings())
	mean := 450 * (1 + 0.02/4)
	for p, pt := range c.Points() {
		pct, ok := c.Deviation(1, p)
		if want := 100 * (459/mean - 1); !ok || math.Abs(pct-want) > 1e-3 {
			t.Errorf("%v: deviation %v, want %v", pt, pct, want)
		}
		flow, ok := c.FlowAt(0, p)
		if want := 450 * (pt.Pulse.Ms() - 0.8) / 20; !ok || math.Abs(flow.MlMin()-want) > 1e-3 {
			t.Errorf("%v: flow %v, want %v", pt, flow.MlMin(), want)
		}
	}
	flow, p, ok := c.HighestDuty(0)
	if want := 450 * (10 - 0.8) / 10; !ok || p != 5 || math.Abs(flow.MlMin()-want) > 1e-3 {
		t.Errorf("at the highest duty %v ml/min at point %d, want %v at 5", flow.MlMin(), p, want)
	}
	m := c.Mean(0, 5)
	k := slices.IndexFunc(c.Readings().List(), func(r bench.Reading) bool { return r.Injector == "1" && r.Pulse > 0.009 })
	if m.N != 1 || !near(float64(m.U)*1000, float64(c.Weight(k).U())) || c.PointOf(k) != 5 || c.InjectorOf(k) != 0 {
		t.Errorf("mean %+v, weight %v", m, c.Weight(k).U())
	}
}

func TestVerdictNames(t *testing.T) {
	var got []string
	for v := bench.Sound; v <= bench.Dead; v++ {
		got = append(got, v.String())
	}
	if s := strings.Join(got, " "); s != "sound outlier erratic leaking dead" {
		t.Error(s)
	}
}

func TestAlikeNames(t *testing.T) {
	s := sixPulses(6).readings(func(r *bench.Reading) {
		r.Injector = map[string]string{"1": "a1", "2": "A1", "3": "07", "4": "7"}[r.Injector]
	})
	s.Readings = s.Readings.Only(func(k int) bool { return s.Readings.At(k).Injector != "" })
	c := check(t, s)
	if diff := cmp.Diff([]string{"alike-names", "alike-names"}, codes(c)); diff != "" || !says(c.Notes()[0].Message, `"07" and "7"`) {
		t.Errorf("notes %v", c.Notes())
	}
}

func TestCompareNatural(t *testing.T) {
	ids := []string{"10", "2", "B1", "a10", "a2", "A2", "007", "7", "", "x"}
	slices.SortFunc(ids, bench.CompareNatural)
	if diff := cmp.Diff([]string{"", "2", "007", "7", "10", "A2", "a2", "a10", "B1", "x"}, ids); diff != "" {
		t.Error(diff)
	}
}

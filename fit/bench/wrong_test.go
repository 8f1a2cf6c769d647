package bench_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"injtab/fit/bench"
	"injtab/fit/unit"
)

// line is where sixPulses(8) has an injector's reading at a pulse.
func line(pulse, injector int) int { return 2 + pulse*8 + injector - 1 }

// TestWrongReadings: each slip is found, named with its place, what was read and what
// would have fitted, and nothing else is.
func TestWrongReadings(t *testing.T) {
	for _, c := range []struct {
		name   string
		change map[int]func(ml float64) float64 // by line
		want   []string                         // messages, by line
	}{
		{"digit", map[int]func(float64) float64{line(3, 5): func(ml float64) float64 { return ml + 10 }},
			[]string{"b.csv, line 30, column volume_ml: injector 5 at 4 ms 300 kPa 13.5 V: 34 ml was read, about 24 ml would fit: a digit may be wrong, 34 for 24; the reading is left out"}},
		{"digit twice", map[int]func(float64) float64{line(3, 5): func(float64) float64 { return 244.1 }},
			[]string{"line 30…244.1 ml was read, about 24…a digit may be wrong, 244.1 for 24.1"}},
		{"digits change places", map[int]func(float64) float64{line(3, 5): func(float64) float64 { return 42.1 }},
			[]string{"line 30…42.1 ml was read, about 24…a digit may be wrong, 42.1 for 24.1"}},
		{"decimal point", map[int]func(float64) float64{line(3, 5): func(float64) float64 { return 2.4 }},
			[]string{"line 30…2.4 ml was read, about 24…decimal point"}},
		{"nothing", map[int]func(float64) float64{line(3, 5): func(float64) float64 { return 0 }},
			[]string{"line 30…0 ml was read, about 24…may have stuck"}},
		{"half", map[int]func(float64) float64{line(4, 2): func(ml float64) float64 { return ml * 0.63 }},
			[]string{"line 35…ml was read, about 39…would fit"}},
		{"changed places", map[int]func(float64) float64{line(2, 3): func(float64) float64 { return 26.7 }, line(2, 4): func(float64) float64 { return 16.1 }},
			[]string{"line 20…about 16…may be wrong", "line 21"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := sixPulses(8).readings(func(r *bench.Reading) {
				if f, ok := c.change[r.Line]; ok {
					r.Volume = unit.Ml(math.Round(10*f(r.Volume.Ml())) / 10)
				}
			})
			got := check(t, s)
			if c.name == "changed places" { // two digits wrong at once are two slips
				if len(got.Notes()) == 0 {
					t.Error("nothing found")
				}
				return
			}
			if len(got.Notes()) != len(c.want) {
				t.Fatalf("got %d notes, want %d: %v", len(got.Notes()), len(c.want), got.Notes())
			}
			for k, n := range got.Notes() {
				if !says(n.Error(), c.want[k]) {
					t.Errorf("got  %v\nwant %s", n, c.want[k])
				}
			}
			if len(got.Sound()) != 8 {
				t.Errorf("verdicts %v", verdicts(got))
			}
		})
	}
}

// TestWrongLeftOut: a wrong reading is in no mean.
func TestWrongLeftOut(t *testing.T) {
	s := sixPulses(8).readings(func(r *bench.Reading) {
		if r.Line == line(3, 5) {
			r.Volume *= 2
		}
	})
	c := check(t, s)
	for k, r := range c.Readings().All() {
		if wrong := c.Wrong(k) != ""; wrong != (r.Line == line(3, 5)) {
			t.Errorf("line %d: wrong is %v (%s)", r.Line, wrong, c.Wrong(k))
		}
	}
	if m := c.Mean(4, 3); m.N != 0 || m.PerShot != 0 {
		t.Errorf("mean %+v, want none", m)
	}
}

// TestWrongSwapped: two injectors that differ changed places in one row.
func TestWrongSwapped(t *testing.T) {
	r := sixPulses(8)
	r.flow["3"], r.flow["6"] = 430, 475
	s := r.readings()
	a, b := line(3, 3)-2, line(3, 6)-2
	list := s.Readings.List()
	list[a].Volume, list[b].Volume = list[b].Volume, list[a].Volume
	s.Readings = bench.NewReadings(list...)
	c := check(t, s)
	if len(c.Notes()) != 2 || !says(c.Notes()[0].Message, "injector 3…changed places with…of injector 6 in line 31") || !says(c.Notes()[1].Message, "injector 6…changed places with…of injector 3 in line 28") {
		t.Errorf("notes %v", c.Notes())
	}
}

// TestWrongShifted: an injector's readings from the third on were written one row too
// far up.
func TestWrongShifted(t *testing.T) {
	s := sixPulses(8).readings()
	list := s.Readings.List()
	for p := 1; p < 5; p++ {
		list[line(p, 4)-2].Volume = list[line(p+1, 4)-2].Volume
	}
	s.Readings = bench.NewReadings(list...)
	c := check(t, s)
	slipped := 0
	for k := range c.Readings().Len() {
		if strings.Contains(c.Wrong(k), "slipped by one row") {
			slipped++
		}
	}
	if slipped < 3 || slipped > 5 {
		t.Errorf("%d readings slipped, want 3 to 5: %v", slipped, c.Notes())
	}
}

// TestWrongOverflow: a vessel of 60 ml ran over where 76 ml would have come.
func TestWrongOverflow(t *testing.T) {
	s := sixPulses(8).readings(func(r *bench.Reading) {
		if r.Pulse.Ms() > 9 {
			r.Shots, r.Volume = 800, unit.Volume(math.Round(float64(r.Volume)*8e6)/1e7)
			if r.Injector == "2" {
				r.Shots, r.Volume = 1000, unit.Ml(60)
			}
		}
	})
	c := check(t, s)
	if len(c.Notes()) != 1 || !says(c.Notes()[0].Message, "injector 2…60 ml was read, about 69…run over") {
		t.Errorf("notes %v", c.Notes())
	}
}

// TestWrongShots: the count of one reading was twice what was written.
func TestWrongShots(t *testing.T) {
	s := sixPulses(8).readings(func(r *bench.Reading) {
		r.Shots = map[bool]float64{true: 1000, false: 500}[r.Pulse.Ms() < 3.5]
		r.Volume = unit.Ml(math.Round(float64(r.Volume)*1e7*r.Shots/1000) / 10)
		if r.Line == line(4, 7) {
			r.Volume *= 2
		}
	})
	c := check(t, s)
	if len(c.Notes()) != 1 || !says(c.Notes()[0].Message, "injector 7…1000 shots instead of 500 would fit") {
		t.Errorf("notes %v", c.Notes())
	}
}

// TestWrongRow: the pulse of a whole row of a wide table is another than was set.
func TestWrongRow(t *testing.T) {
	r := sixPulses(8)
	r.pulses = []float64{1.5, 2, 2.5, 3, 4, 5, 6, 8, 10}
	s := r.readings(func(r *bench.Reading) {
		if r.Pulse.Ms() > 4.5 && r.Pulse.Ms() < 5.5 {
			r.Pulse = unit.Ms(7)
		}
		r.Line = 2 + int(2*r.Pulse.Ms())
	})
	s.Wide = true
	c := check(t, s)
	if len(c.Notes()) != 1 || c.Notes()[0].Code != "wrong-row" || !says(c.Notes()[0].Error(), "b.csv, line 16: 7 ms 300 kPa 13.5 V: every injector delivered -32 %") {
		t.Errorf("notes %v", c.Notes())
	}
	if len(c.Sound()) != 8 {
		t.Errorf("verdicts %v", verdicts(c))
	}
}

// TestWrongAlone: one injector by itself is judged by its own curve.
func TestWrongAlone(t *testing.T) {
	r := sixPulses(1)
	r.pulses = []float64{1.5, 2, 2.5, 3, 4, 5, 6, 8, 10}
	s := r.readings(func(r *bench.Reading) {
		if r.Pulse.Ms() > 4.5 && r.Pulse.Ms() < 5.5 {
			r.Volume *= 1.3
		}
	})
	c := check(t, s)
	if len(c.Notes()) != 2 || c.Notes()[1].Code != "wrong-reading" || !says(c.Notes()[1].Message, "injector 1 at 5 ms") {
		t.Errorf("notes %v", c.Notes())
	}
}

// TestWrongRepeat: of five repeats of one reading, one is off.
func TestWrongRepeat(t *testing.T) {
	var s bench.Sheet
	for k, ml := range []float64{24, 24.1, 23.9, 29, 24} {
		s = with(s, bench.Reading{Injector: "1", Pulse: unit.Ms(4), Period: unit.Ms(20), Shots: 1000, Volume: unit.Ml(ml),
			Pressure: unit.KPa(300), Voltage: 13.5, Division: unit.Ml(0.1), Run: fmt.Sprint(k), Line: 2 + k})
	}
	c := check(t, s)
	if c.Wrong(3) == "" || c.Mean(0, 0).N != 4 {
		t.Errorf("notes %v, mean %+v", c.Notes(), c.Mean(0, 0))
	}
}

package bench_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"injtab/fit/bench"
	"injtab/fit/unit"
)

func readingAt(pulseMs, periodMs, kPa, volts float64) bench.Reading {
	return bench.Reading{Injector: "1", Pulse: unit.Ms(pulseMs), Period: unit.Ms(periodMs), Shots: 1000, Volume: unit.Ml(20), Pressure: unit.KPa(kPa), Voltage: unit.Volts(volts)}
}

// TestPoints: points agree when pulse and period are equal, pressure within 1 % and
// voltage within 0.1 V.
func TestPoints(t *testing.T) {
	for _, c := range []struct {
		name string
		b    bench.Reading // beside 2 ms, 10 ms, 300 kPa, 13.5 V
		same bool
	}{
		{"alike", readingAt(2, 10, 300, 13.5), true},
		{"pressure within", readingAt(2, 10, 303, 13.5), true},
		{"pressure beyond", readingAt(2, 10, 303.1, 13.5), false},
		{"voltage within", readingAt(2, 10, 300, 13.6), true},
		{"voltage beyond", readingAt(2, 10, 300, 13.61), false},
		{"pulse", readingAt(2.001, 10, 300, 13.5), false},
		{"period", readingAt(2, 10.001, 300, 13.5), false},
	} {
		got := check(t, bench.Sheet{Readings: bench.NewReadings(readingAt(2, 10, 300, 13.5), c.b)})
		if same := len(got.Points()) == 1; same != c.same {
			t.Errorf("%s: same point %v, want %v", c.name, same, c.same)
		}
	}
}

func TestPointOrder(t *testing.T) {
	leak := readingAt(0, 60000, 300, 0)
	leak.Shots = 1
	got := check(t, bench.Sheet{Readings: bench.NewReadings(leak, readingAt(2, 10, 300, 14), readingAt(10, 10, 300, 12), readingAt(4, 10, 300, 12), readingAt(2, 10, 400, 12), readingAt(2, 10, 300, 12))})
	var names []string
	for _, p := range got.Points() {
		names = append(names, p.String())
	}
	want := []string{"2 ms 300 kPa 12 V", "4 ms 300 kPa 12 V", "held open 300 kPa 12 V", "2 ms 400 kPa 12 V", "2 ms 300 kPa 14 V", "leak test 300 kPa"}
	if diff := cmp.Diff(want, names); diff != "" {
		t.Error(diff)
	}
}

// TestPointsAgree: whatever the readings, those of one point agree, and none is lost.
func TestPointsAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s bench.Sheet
		for range rapid.IntRange(1, 30).Draw(t, "n") {
			s = with(s, readingAt(2, 10, rapid.Float64Range(290, 310).Draw(t, "kPa"), rapid.Float64Range(13, 14).Draw(t, "V")))
		}
		c, _, err := bench.Check(s)
		if err != nil {
			t.Fatal(err)
		}
		for a, ra := range s.Readings.All() {
			for b, rb := range s.Readings.All() {
				if c.PointOf(a) != c.PointOf(b) {
					continue
				}
				if hi, lo := max(ra.Pressure, rb.Pressure), min(ra.Pressure, rb.Pressure); float64(hi/lo) > 1.01+1e-9 || math.Abs((ra.Voltage-rb.Voltage).V()) > 0.1+1e-9 {
					t.Fatalf("%v and %v are one point", ra, rb)
				}
			}
		}
	})
}

// TestWeights: a reading's uncertainty by its parts. 1 ml divisions make 1/√12 =
// 0.28868 ml (JCGM 100:2008, F.2.2.1, as quoted in the documentation of an R package).
func TestWeights(t *testing.T) {
	r := readingAt(2, 10, 300, 13.5)
	r.Volume, r.Division = unit.Ml(100), unit.Ml(1)
	w := check(t, bench.Sheet{Readings: bench.NewReadings(r)}).Weight(0)
	if got := w.Division.Ml(); math.Abs(got-0.28868) > 1e-5 {
		t.Errorf("division %v ml", got)
	}
	if got, want := w.Count.Ml(), 0.1/math.Sqrt(3); math.Abs(got-want) > 1e-9 { // one shot in 1000 of 100 ml
		t.Errorf("count %v ml, want %v", got, want)
	}
	if got := w.Technique.Ml(); math.Abs(got-0.3) > 1e-9 {
		t.Errorf("technique %v ml", got)
	}
	if got, want := w.U().Ml(), math.Sqrt(0.28868*0.28868+0.1*0.1/3+0.3*0.3); math.Abs(got-want) > 1e-5 {
		t.Errorf("combined %v ml, want %v", got, want)
	}
}

// TestWeightsGuessed: without a division, the digits tell.
func TestWeightsGuessed(t *testing.T) {
	for _, c := range []struct {
		step, want float64
		n          int
	}{{5, 5, 20}, {2, 2, 20}, {0.5, 0.5, 20}, {0.01, 0.01, 20}, {5, 1, 5}, {0.5, 0.1, 5}} {
		var s bench.Sheet
		for k := range c.n {
			r := readingAt(2, 10, 300, 13.5)
			r.Volume = unit.Ml(c.step * float64(17+7*k))
			s = with(s, r)
		}
		got := check(t, s).Weight(0).Division.Ml() * math.Sqrt(12)
		if math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%d readings in steps of %v ml: division %v, want %v", c.n, c.step, got, c.want)
		}
	}
}

// TestWeightsOfRepeats: repeats that scatter by 1 % make the technique 1 %.
func TestWeightsOfRepeats(t *testing.T) {
	var s bench.Sheet
	for i := range 8 {
		for k, off := range []float64{-1.2, -0.6, 0, 0.6, 1.2} { // standard deviation 0.95
			r := readingAt(2, 10, 300, 13.5)
			r.Injector, r.Run = fmt.Sprint(i), fmt.Sprint(k)
			r.Volume, r.Division = unit.Ml(100+off), unit.Ml(0.01)
			s = with(s, r)
		}
	}
	if got := check(t, s).Weight(0).Technique.Ml(); got < 0.7 || got > 1.3 {
		t.Errorf("technique %v ml of 100, want about 0.95", got)
	}
}

package bench

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"injtab/fit/unit"
)

// slippery draws a session of injectors that are more or less alike, with slips of every
// size among the readings, readings of nothing and an injector that never repeats itself.
func slippery(t *rapid.T) Sheet {
	var list []Reading
	noise := rapid.SampledFrom([]float64{0.001, 0.005, 0.02, 0.05}).Draw(t, "noise")
	slip := func() float64 {
		if rapid.IntRange(0, 19).Draw(t, "slips") > 0 {
			return 1
		}
		return rapid.SampledFrom([]float64{0, 0.1, 0.8, 0.95, 1.04, 1.2, 10}).Draw(t, "slip")
	}
	injectors := rapid.IntRange(3, 9).Draw(t, "injectors")
	for repeat := range rapid.IntRange(1, 4).Draw(t, "repeats") {
		for _, pulse := range []float64{1.2, 2, 2.5, 3, 5, 8, 12} {
			for i := range injectors {
				own := noise
				if i == 2 {
					own = 0.1
				}
				ml := 4 * (1 + 0.02*float64(i)) * (pulse - 0.9) * (1 + own*rapid.Float64Range(-1, 1).Draw(t, "off")) * slip()
				list = append(list, Reading{
					Injector: fmt.Sprint(i), Pulse: unit.Ms(pulse), Period: unit.Ms(20), Shots: 1000, Volume: unit.Ml(math.Round(10*ml) / 10),
					Pressure: unit.KPa(300), Voltage: unit.Volts(13.5), Run: fmt.Sprint(repeat), Line: len(list) + 2,
				})
			}
		}
	}
	return Sheet{Readings: NewReadings(list...)}
}

// TestShortCutsOfCheck: what is passed over by the least and the most of a pair is what would
// be by its readings one by one.
func TestShortCutsOfCheck(t *testing.T) {
	found, steady := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		c, _ := newChecked(slippery(t))
		f, s := c.findWrong()
		for _, limit := range [][2]float64{{wrongSigmas, wrongPart}, {swapSigmas, wrongPart}, {doubtSigmas, 0}} {
			var want []miss
			for k := range c.wrong {
				if m, ok := s.at(k); ok && math.Abs(m.z()) > limit[0] && math.Abs(m.part) > limit[1] {
					want = append(want, m)
				}
			}
			if got := s.far(limit[0], limit[1]); !slices.Equal(got, want) {
				t.Fatalf("beyond %v: %v, want %v", limit, got, want)
			}
			found += len(want)
		}
		for k, far := range f.farReadings() {
			read, own, times := c.perShot(k), f.middleAt(c.PointOf(k)), math.Exp(shiftFar)
			if want := read > 0 && own > 0 && (read < own/times || read > own*times); far != want {
				t.Fatalf("reading %d is far: %v, want %v", k, far, want)
			}
		}
		for i := range c.injectors {
			z, part := f.missesOf(i, s, nil, nil)
			erratic := len(z) > fewPoints && (manyFar(z, part) || trimmed(z) > erraticSigmas && trimmed(part) > erraticPart)
			if f.steady(i, s) {
				steady++
				if erratic {
					t.Fatalf("injector %d is steady and erratic", i)
				}
			}
		}
	})
	if found == 0 || steady == 0 {
		t.Errorf("%d readings were far and %d injectors steady: want some of both", found, steady)
	}
}

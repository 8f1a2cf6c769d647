package bench_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"injtab/fit/bench"
	"injtab/fit/unit"
)

// large is a rail of many injectors, repeated, with a slip in every thousandth reading and
// every hundredth injector flowing a quarter less.
func large(injectors, repeats int) (s bench.Sheet, slips map[int]bool, low map[string]bool) {
	rng := rand.New(rand.NewPCG(7, 0))
	r := rail{pulses: []float64{2, 2.5, 3, 5, 8, 12}, voltages: []float64{11, 13.5}, shots: 1000, division: 0.1,
		flow: map[string]float64{}, dead: map[string]float64{}}
	low = map[string]bool{}
	for i := range injectors {
		id := fmt.Sprint(i + 1)
		r.ids = append(r.ids, id)
		r.flow[id], r.dead[id] = 240*(1+0.01*rng.NormFloat64()), 0.9*(1+0.02*rng.NormFloat64())
		if i%100 == 50 {
			r.flow[id] *= 0.75
			low[id] = true
		}
	}
	slips = map[int]bool{}
	var list []bench.Reading
	for range repeats {
		for _, x := range r.readings().Readings.All() {
			x.Line = 2 + len(list)
			x.Volume *= unit.Volume(1 + 0.003*rng.NormFloat64())
			if len(list)%1000 == 500 {
				x.Volume *= 1.4
				slips[len(list)] = true
			}
			list = append(list, x)
		}
	}
	s.Readings = bench.NewReadings(list...)
	return s, slips, low
}

// TestLargeSession: where injectors are too many for each to make up the family, slips
// and outliers are still found, and nothing else is.
func TestLargeSession(t *testing.T) {
	s, slips, low := large(1200, 2)
	c := check(t, s)
	for k := range c.Readings().Len() {
		if got := c.Wrong(k) != ""; got != slips[k] {
			t.Errorf("reading %d (%+v): wrong is %v", k, c.Readings().At(k), got)
		}
	}
	for _, inj := range c.Injectors() {
		if got := inj.Verdict == bench.Outlier; got != low[inj.ID] || !got && inj.Verdict != bench.Sound {
			t.Errorf("injector %s is %v: %v", inj.ID, inj.Verdict, inj.Reasons)
		}
	}
	if n := len(c.Points()); n != 12 {
		t.Errorf("%d points, want 12", n)
	}
	if m, n := c.FamilyMean(0); n != len(c.Sound()) || math.Abs(m.Ml()*1000/(240./60000*(2-0.9*13.5/11)*1000)-1) > 0.02 {
		t.Errorf("the family delivers %v ml by %d", m.Ml(), n)
	}
}

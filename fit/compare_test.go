package fit_test

import (
	"math"
	"strings"
	"testing"

	"injtab/fit"
	"injtab/fit/sim"
)

// TestCompareCleaning: between two sessions of the same injectors one gained flow;
// that one alone is named.
func TestCompareCleaning(t *testing.T) {
	falsely, found := 0, 0
	for seed := range uint64(8) {
		p := sim.HobbyPlan()
		p.Junk = 0
		before := fitted(t, checkedSession(t, p.Run(sim.ByName("A"), 61+seed)))
		s := p.Run(sim.ByName("A"), 61+seed)
		f := takeApart(s.CSV)
		for c, name := range f.cols {
			if name == "7" {
				for _, r := range f.rows {
					r[c] = scaled(t, r[c], 1.04)
				}
			}
		}
		after := fitted(t, checkedCSV(t, f.csv()))
		c, err := fit.Compare(before, after)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range c.Changes {
			switch {
			case x.Injector == "7" && x.FlowReal && math.Abs(x.FlowPct.Value-3.9) < 0.6:
				found++
			case x.Injector != "7" && (x.FlowReal || x.DeadReal):
				falsely++
			}
		}
	}
	if found < 7 || falsely > 0 {
		t.Errorf("the cleaned injector was found in %d of 8 pairs of sessions, %d others were named falsely", found, falsely)
	}
}

// TestCompareNoise: two sessions of unchanged injectors with independent noise; few
// pairs may name any change.
func TestCompareNoise(t *testing.T) {
	pairs, any := 0, 0
	for _, d := range sim.Designs()[:3] {
		for seed := range uint64(3) {
			p := sim.MappedPlan(4)
			a := p.Run(d, 71+seed)
			p.Bench.Technique *= 1.0001 // other noise, same injectors: draws shift with nothing else
			p.Steps = append([]sim.Step{{IDs: p.IDs, Points: p.Steps[0].Points[:1]}}, p.Steps...)
			b := p.Run(d, 71+seed)
			c, err := fit.Compare(fitted(t, checkedSession(t, a)), fitted(t, checkedSession(t, b)))
			if err != nil {
				t.Fatal(err)
			}
			pairs++
			for _, x := range c.Changes {
				if x.FlowReal || x.DeadReal {
					any++
					break
				}
			}
		}
	}
	t.Logf("%d of %d pairs of unchanged sessions named a change", any, pairs)
	if any > 1 {
		t.Errorf("%d of %d pairs of unchanged sessions named a change", any, pairs)
	}
}

func TestCompareNeedsCommonInjectors(t *testing.T) {
	a, err := fitCSV(t, ideal([]string{"1", "2"}, []float64{2, 4, 8, 12}), fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	b, err := fitCSV(t, ideal([]string{"A", "B"}, []float64{2, 4, 8, 12}), fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := fit.Compare(a, b); err == nil || !strings.Contains(err.Error(), "same text on each injector") {
		t.Errorf("%v, want a sentence that says what to write", err)
	}
}

package fit

import (
	"math"
	"testing"
)

// TestJoinedRepeats: a gross reading among repeats does not carry their mean.
func TestJoinedRepeats(t *testing.T) {
	c := condition{pulse: 5, period: 20, place: place{300, 13.5}}
	cell := []datum{{c: c, q: 10.01, sd: 0.02}, {c: c, q: 9.99, sd: 0.02}, {c: c, q: 10.02, sd: 0.02}, {c: c, q: 19, sd: 0.02}}
	got := joined(cell)
	if math.Abs(got.q-10.0067) > 1e-3 || math.Abs(got.sd-0.02/math.Sqrt(3)) > 1e-9 {
		t.Errorf("joined to %.4f ± %.4f, want 10.0067 ± 0.0115", got.q, got.sd)
	}
}

// TestManyReadings: an archive of many injectors with repeats is fitted by parts and
// gives every injector its own flow and dead time.
func TestManyReadings(t *testing.T) {
	const injectors, repeats = 120, 30
	d := dataset{}
	for g := range injectors {
		s, dead := 5*(1+0.0005*float64(g)), 0.7+0.0005*float64(g)
		var group []datum
		for k := range repeats {
			for _, pulse := range []float64{2, 3, 4, 6, 9, 12} {
				q := s * (pulse - dead) * (1 + 0.001*float64(k%3-1))
				group = append(group, datum{c: condition{pulse: pulse, period: 20, place: place{300, 13.5}}, q: q, sd: 0.02})
			}
		}
		d.ids = append(d.ids, g)
		d.groups = append(d.groups, group)
	}
	d.closing, d.silent, d.brief = make([][]datum, injectors), make([][]datum, injectors), make([][]datum, injectors)
	if d.joinRepeats(); !d.joined || len(d.groups[7]) != 6 {
		t.Fatalf("injector 8 keeps %d readings, want its 6 conditions", len(d.groups[7]))
	}
	gs, ok := startGuess(d, 300, false)
	if !ok {
		t.Fatal("no guess")
	}
	part, members := d.forShapes()
	if members != nil || len(part.groups) != injectors {
		t.Error("few joined readings need no part")
	}
	sol, _, err := choose(d, gs, 300, 13.5, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range []int{0, 60, 119} {
		want := 5 * (1 + 0.0005*float64(g))
		if got := math.Exp(sol.Local[g][localFlow]); math.Abs(got/want-1) > 0.003 {
			t.Errorf("injector %d flows %.4f µl/ms, want %.4f", g, got, want)
		}
	}
}

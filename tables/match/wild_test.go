package match

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"injtab/fit/bench"
	"injtab/fit/unit"
)

// TestAnyWishIsAnsweredOrRefused: whatever is asked of whatever was measured,
// the answer holds together or is one sentence.
func TestAnyWishIsAnsweredOrRefused(t *testing.T) {
	answered := 0
	rapid.Check(t, func(rt *rapid.T) {
		c := checked(t, wildRows(rt))
		o := wildOptions(rt, c)
		r, err := Choose(context.Background(), c, o)
		if err != nil {
			return
		}
		answered++
		if _, err := json.Marshal(r); err != nil {
			rt.Fatal(err)
		}
		r.Report()
		seen := map[string]bool{}
		for _, s := range r.Sets {
			if s.SpreadPct < 0 || !finite(s.SpreadPct) || r.BoundPct > s.SpreadPct+3e-4 && len(r.Sets) == 1 {
				rt.Fatalf("%+v, bound %v", s, r.BoundPct)
			}
			for _, id := range s.Injectors {
				if seen[id] || slices.Contains(o.Without, id) || id == o.Replace {
					rt.Fatalf("injector %s is in the sets %v", id, r.Sets)
				}
				seen[id] = true
			}
		}
		for _, id := range o.Keep {
			if len(r.Sets) > 0 && id != o.Replace && !seen[id] {
				rt.Fatalf("injector %s is kept, but not in %v", id, r.Sets)
			}
		}
		if len(seen)+len(r.LeftOut) != len(c.Injectors()) {
			rt.Fatalf("%d chosen, %d left out of %d", len(seen), len(r.LeftOut), len(c.Injectors()))
		}
	})
	if answered < 5 { // about a third of them are, five standard deviations more than this
		t.Errorf("only %d wishes were answered", answered)
	}
}

// wildRows are readings of a few injectors with holes, zeros, leak tests and
// readings held open.
func wildRows(t *rapid.T) []string {
	conditions := []struct {
		times string
		ml    float64 // of 1000 shots
	}{{"2,20", 6}, {"4,20", 16}, {"10,20", 46}, {"20,20", 96}, {"0,60000", 0}}
	rows := []string{"1,4,20,1000,16"}
	for i := range rapid.IntRange(3, 12).Draw(t, "injectors") {
		for _, c := range conditions {
			ml := c.ml * float64(rapid.IntRange(980, 1020).Draw(t, "flow")) / 1000
			switch rapid.IntRange(0, 30).Draw(t, "kind") {
			case 0:
				continue // not measured
			case 1:
				ml = 0
			}
			rows = append(rows, fmt.Sprintf("%d,%s,1000,%.2f", i+1, c.times, ml))
		}
	}
	return rows
}

func wildOptions(t *rapid.T, c bench.Checked) Options {
	names := rapid.SliceOfNDistinct(rapid.SampledFrom(ids(c, nil)), 0, 3, rapid.ID[string])
	o := Options{
		Of: rapid.IntRange(1, 5).Draw(t, "of"), Sets: rapid.IntRange(0, 3).Draw(t, "sets"),
		Aim:  rapid.SampledFrom([]Aim{WorstSet, MostSets, BestFirst}).Draw(t, "aim"),
		Keep: names.Draw(t, "keep"), Spares: rapid.IntRange(0, 2).Draw(t, "spares"),
		Within: unit.Ratio(rapid.SampledFrom([]float64{0, 0.01, 0.05, 0.2}).Draw(t, "within")),
	}
	for _, id := range names.Draw(t, "without") {
		if !slices.Contains(o.Keep, id) {
			o.Without = append(o.Without, id)
		}
	}
	if rapid.IntRange(0, 4).Draw(t, "replace") == 0 && len(o.Keep) > 0 {
		o.Replace = o.Keep[0]
	}
	switch rapid.IntRange(0, 4).Draw(t, "engine") {
	case 0:
		o.Of = 0
		o.FiringOrder = []int{1, 3, 4, 2}
	case 1:
		o.Of = 4
		o.Banks = [][]int{{1, 2}, {3, 4}}
	}
	if rapid.Bool().Draw(t, "weights") {
		o.Weights = []Weight{{Where{Pulse: ms(4)}, rapid.SampledFrom([]float64{0, 0.5, 3}).Draw(t, "weight")}}
	}
	return o
}

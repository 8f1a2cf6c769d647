package match

import (
	"context"
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"injtab/fit/bench"
	"injtab/fit/unit"
)

// The small box by hand: 1, 2 and 3 are 6.06/6.00 and 46.46/46.0 apart, 1 % at
// both points; 2 and 3 alone 6.06/6.03 and nothing.
func TestSmallBoxByHand(t *testing.T) {
	c := checked(t, small())
	three := chosen(t, c, Options{Of: 3}).Sets[0]
	if !slices.Equal(three.Injectors, []string{"1", "2", "3"}) || !near(three.SpreadPct, 1) {
		t.Errorf("three of four: %v, %v %%", three.Injectors, three.SpreadPct)
	}
	two := chosen(t, c, Options{Of: 2})
	set := two.Sets[0]
	if !slices.Equal(set.Injectors, []string{"2", "3"}) || !near(set.SpreadPct, 100*(6.06/6.03-1)) || !near(set.ByPoint[1].SpreadPct, 0) {
		t.Errorf("two of four: %+v", set)
	}
	if set.Limit.Most != "2" || set.Limit.Least != "3" || !near(set.Limit.PulseMs, 2) {
		t.Errorf("limit: %+v", set.Limit)
	}
	if two.Proof != optimal || !near(two.BoundPct, set.SpreadPct) || set.Proof != optimal || !near(set.BoundPct, set.SpreadPct) {
		t.Errorf("proof %s %v, of the set %s %v", two.Proof, two.BoundPct, set.Proof, set.BoundPct)
	}
}

func near(a, b float64) bool { return math.Abs(a-b) < 1e-6 }

// TestSpreadsAreThoseOfTheReadings recomputes every spread, and the best set,
// from what the sheet holds.
func TestSpreadsAreThoseOfTheReadings(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	for range 20 {
		c := checked(t, newBox(r, 10).rows(r))
		sound := c.Sound()
		if len(sound) < 6 {
			continue
		}
		got := chosen(t, c, Options{Of: 4}).Sets[0]
		best := math.Inf(1)
		for mask := range 1 << len(sound) {
			var set []int
			for b, i := range sound {
				if mask&(1<<b) != 0 {
					set = append(set, i)
				}
			}
			if len(set) == 4 {
				best = min(best, slices.Max(spreadsOf(c, set)))
			}
		}
		want := spreadsOf(c, indexesOf(t, c, got.Injectors))
		for p, s := range got.ByPoint {
			if math.Abs(s.SpreadPct-want[p]) > 1e-6 {
				t.Fatalf("point %d: %v, from the readings %v", p, s.SpreadPct, want[p])
			}
		}
		// Logarithms are rounded to millionths, 0.0001 %.
		if got.SpreadPct > best+3e-4 || math.Abs(got.SpreadPct-slices.Max(want)) > 1e-6 {
			t.Fatalf("spread %v, enumeration %v", got.SpreadPct, best)
		}
	}
}

func spreadsOf(c bench.Checked, set []int) []float64 {
	var out []float64
	for p := range c.Points() {
		lo, hi := math.Inf(1), 0.0
		for _, i := range set {
			ml := c.Mean(i, p).PerShot.Ml()
			lo, hi = min(lo, ml), max(hi, ml)
		}
		out = append(out, 100*(hi/lo-1))
	}
	return out
}

func indexesOf(t *testing.T, c bench.Checked, names []string) []int {
	t.Helper()
	list, err := indexes(c, "test", names)
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// TestOrderOfReadingsDoesNotMatter compares the whole answer, byte by byte.
func TestOrderOfReadingsDoesNotMatter(t *testing.T) {
	r := rand.New(rand.NewPCG(23, 24))
	rows := newBox(r, 16).rows(r)
	for _, o := range []Options{
		{Of: 6, Spares: 2, FiringOrder: []int{1, 5, 3, 6, 2, 4}},
		{Of: 4, Sets: 3}, {Of: 3, Sets: 2, Aim: BestFirst}, {Of: 3, Aim: MostSets, Within: 0.02},
	} {
		want, err := json.Marshal(chosen(t, checked(t, rows), o))
		if err != nil {
			t.Fatal(err)
		}
		for range 3 {
			mixed := slices.Clone(rows)
			r.Shuffle(len(mixed), func(a, b int) { mixed[a], mixed[b] = mixed[b], mixed[a] })
			got, err := json.Marshal(chosen(t, checked(t, mixed), o))
			if err != nil || string(got) != string(want) {
				t.Fatalf("%+v: %v\n%s\n%s", o, err, got, want)
			}
		}
	}
}

// TestSeveralSets checks the three objectives against one another: they agree on
// the numbers of injectors, and each is best at its own.
func TestSeveralSets(t *testing.T) {
	r := rand.New(rand.NewPCG(25, 26))
	for range 10 {
		c := checked(t, newBox(r, 18).rows(r))
		if len(c.Sound()) < 12 {
			continue
		}
		even, first := chosen(t, c, Options{Of: 4, Sets: 3}), chosen(t, c, Options{Of: 4, Sets: 3, Aim: BestFirst})
		one := chosen(t, c, Options{Of: 4})
		if even.Proof != optimal || first.Proof != optimal {
			t.Fatalf("proofs %s, %s", even.Proof, first.Proof)
		}
		if !slices.Equal(first.Sets[0].Injectors, one.Sets[0].Injectors) {
			t.Fatalf("best first: %v, alone %v", first.Sets[0].Injectors, one.Sets[0].Injectors)
		}
		worst := func(res Result) float64 { return res.Sets[len(res.Sets)-1].SpreadPct }
		if worst(even) > worst(first)+3e-4 || first.BoundPct > worst(even)+3e-4 || !near(even.BoundPct, worst(even)) {
			t.Fatalf("worst set %v (bound %v), best first %v (bound %v)", worst(even), even.BoundPct, worst(first), first.BoundPct)
		}
		most := chosen(t, c, Options{Of: 4, Aim: MostSets, Within: unit.Ratio(worst(even) / 100)})
		if len(most.Sets) < 3 || most.Proof != optimal || most.MostSets != len(most.Sets) {
			t.Fatalf("3 sets of 4 are within %v, found %d of %d", worst(even), len(most.Sets), most.MostSets)
		}
		for _, s := range most.Sets {
			if s.SpreadPct > worst(even)+3e-4 {
				t.Fatalf("%s spreads %v, beyond %v", s.Name, s.SpreadPct, worst(even))
			}
		}
	}
}

func TestNoSetWithinTheTolerance(t *testing.T) {
	r := chosen(t, checked(t, small()), Options{Of: 3, Aim: MostSets, Within: 0.005})
	if len(r.Sets) != 0 || r.MostSets != 0 || !hasWarning(r, "No set of 3 is within 0.50 %: the best that was found spreads 1.00 %.") {
		t.Errorf("%+v", r)
	}
	if _, err := json.Marshal(r); err != nil {
		t.Error(err)
	}
	if len(r.Section().Tables) == 0 || len(r.Answer()) == 0 {
		t.Error("nothing to show")
	}
}

func TestAllSetsThereAre(t *testing.T) {
	r := chosen(t, checked(t, small()), Options{Of: 2, Aim: MostSets})
	if len(r.Sets) != 2 {
		t.Errorf("4 injectors make 2 sets of 2, got %d", len(r.Sets))
	}
}

func TestToleranceIsWatched(t *testing.T) {
	r := chosen(t, checked(t, small()), Options{Of: 3, Within: 0.009})
	if !hasWarning(r, "Set 1 spreads 1.00 %, more than the 0.90 % asked for.") {
		t.Errorf("warnings: %q", r.Warnings)
	}
}

func hasWarning(r Result, text string) bool {
	return slices.ContainsFunc(r.Warnings, func(w string) bool { return strings.Contains(w, text) })
}

// TestStoppedSearchSaysSo: a search without time gives sets and a bound, and
// calls nothing optimal.
func TestStoppedSearchSaysSo(t *testing.T) {
	r := rand.New(rand.NewPCG(27, 28))
	c := checked(t, newBox(r, 30).rows(r))
	done, cancel := context.WithCancel(context.Background())
	cancel()
	for _, o := range []Options{
		{Of: 8}, {Of: 5, Sets: 3}, {Of: 5, Sets: 3, Aim: BestFirst}, {Of: 4, Aim: MostSets, Within: 0.03},
		{Of: 8, FiringOrder: []int{1, 8, 4, 3, 6, 5, 7, 2}, Banks: [][]int{{1, 2, 3, 4}, {5, 6, 7, 8}}},
	} {
		got, err := Choose(done, c, o)
		if err != nil {
			t.Fatal(err)
		}
		full := chosen(t, c, o)
		if got.Proof != bounded || full.Proof != optimal {
			t.Fatalf("%+v: proof %s without time, %s with", o, got.Proof, full.Proof)
		}
		if got.BoundPct > full.BoundPct+3e-4 {
			t.Fatalf("%+v: bound %v without time, %v with", o, got.BoundPct, full.BoundPct)
		}
		text := strings.ToLower(strings.Join(got.Answer(), " "))
		if strings.Contains(text, "proven:") || strings.Contains(text, "proven by") {
			t.Fatalf("claims a proof: %s", text)
		}
		if !hasWarning(got, "stopped before it was through") {
			t.Fatalf("warnings: %q", got.Warnings)
		}
	}
	limited := chosen(t, c, Options{Of: 8, TimeLimit: time.Nanosecond})
	if limited.Proof != bounded {
		t.Fatalf("proof %s within a nanosecond", limited.Proof)
	}
}

package match

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// TestSparesFitBest compares with every injector left.
func TestSparesFitBest(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 32))
	for range 10 {
		c := checked(t, newBox(r, 14).rows(r))
		if len(c.Sound()) < 8 {
			continue
		}
		set := chosen(t, c, Options{Of: 6, Spares: 2}).Sets[0]
		members := indexesOf(t, c, set.Injectors)
		var spreads []float64
		for _, i := range c.Sound() {
			if !slices.Contains(members, i) {
				spreads = append(spreads, slices.Max(spreadsOf(c, append(slices.Clone(members), i))))
			}
		}
		slices.Sort(spreads)
		for k, s := range set.Spares {
			if math.Abs(s.SpreadPct-spreads[k]) > 3e-4 || slices.Contains(set.Injectors, s.Injector) {
				t.Fatalf("spare %d: %+v, best left %v", k, s, spreads[k])
			}
		}
	}
}

func TestSparesOfSeveralSetsAreApart(t *testing.T) {
	r := rand.New(rand.NewPCG(33, 34))
	c := checked(t, newBox(r, 20).rows(r))
	res := chosen(t, c, Options{Of: 4, Sets: 2, Spares: 2})
	var all []string
	for _, s := range res.Sets {
		all = append(all, s.Injectors...)
		for _, f := range s.Spares {
			all = append(all, f.Injector)
		}
	}
	slices.Sort(all)
	if len(all) != 12 || len(slices.Compact(all)) != 12 {
		t.Errorf("members and spares overlap: %v", all)
	}
}

// As many sets as there can be leave too few for the spares: the answer says so.
func TestTooFewSparesAreTold(t *testing.T) {
	rows := append(small(), "5,2,20,1000,6.03", "5,10,20,1000,46.2")
	r := chosen(t, checked(t, rows), Options{Of: 2, Aim: MostSets, Spares: 1})
	if len(r.Sets) != 2 || len(r.Sets[0].Spares) != 1 || len(r.Sets[1].Spares) != 0 {
		t.Fatalf("sets %+v", r.Sets)
	}
	if !hasWarning(r, "Set 2 gets 0 spares of the 1 asked for: no more injectors are left.") {
		t.Errorf("warnings: %q", r.Warnings)
	}
}

// TestReplace compares with every injector that could take the place.
func TestReplace(t *testing.T) {
	r := rand.New(rand.NewPCG(35, 36))
	for range 10 {
		c := checked(t, newBox(r, 14).rows(r))
		if len(c.Sound()) < 8 {
			continue
		}
		set := chosen(t, c, Options{Of: 6}).Sets[0].Injectors
		failed, rest := set[2], slices.Delete(slices.Clone(set), 2, 3)
		best := math.Inf(1)
		for _, i := range c.Sound() {
			if id := c.Injectors()[i].ID; !slices.Contains(set, id) {
				best = min(best, slices.Max(spreadsOf(c, indexesOf(t, c, append(slices.Clone(rest), id)))))
			}
		}
		for _, keep := range [][]string{set, rest} {
			res := chosen(t, c, Options{Keep: keep, Replace: failed})
			got := res.Sets[0]
			if math.Abs(got.SpreadPct-best) > 3e-4 || slices.Contains(got.Injectors, failed) || len(got.Injectors) != 6 {
				t.Fatalf("%+v in place of %s, best %v", got, failed, best)
			}
			if first := res.Replacements[0]; !slices.Contains(got.Injectors, first.Injector) || !near(first.SpreadPct, got.SpreadPct) {
				t.Fatalf("replacements %+v, set %v", res.Replacements, got.Injectors)
			}
			if reasonFor(res, failed) != "it failed and is being replaced" {
				t.Fatalf("reason for %s: %q", failed, reasonFor(res, failed))
			}
		}
	}
}

// TestReasonsAreTrue: what the best set with an injector would spread is what
// keeping it gives.
func TestReasonsAreTrue(t *testing.T) {
	r := rand.New(rand.NewPCG(37, 38))
	c := checked(t, newBox(r, 16).rows(r))
	res := chosen(t, c, Options{Of: 6})
	explained := 0
	for _, l := range res.LeftOut {
		if c.Injectors()[indexesOf(t, c, []string{l.Injector})[0]].Verdict != 0 {
			continue
		}
		with := chosen(t, c, Options{Of: 6, Keep: []string{l.Injector}}).Sets[0].SpreadPct
		want := fmt.Sprintf("usable; the best set with it spreads %.2f %%, the best of all %.2f %%", with, res.Sets[0].SpreadPct)
		if l.Reason != want {
			t.Errorf("injector %s: %q, want %q", l.Injector, l.Reason, want)
		}
		explained++
	}
	if explained == 0 {
		t.Fatal("no injector was explained")
	}
}

// TestMiddleEight compares with the common way of matching by hand (common
// practice, no source): from 20 budget injectors with up to 15 % between them, a
// quarter of them junk, take the eight in the middle of the order at long
// pulses. The exact set is never worse at its worst point.
func TestMiddleEight(t *testing.T) {
	r := rand.New(rand.NewPCG(39, 40))
	var hand, exact, gain []float64
	for range 40 {
		b := budgetBox(r)
		c := checked(t, b.rows(r))
		sound := c.Sound()
		if len(sound) < 12 {
			continue
		}
		long := len(c.Points()) - 1
		slices.SortFunc(sound, func(i, j int) int {
			return int(math.Copysign(1, float64(c.Mean(i, long).PerShot-c.Mean(j, long).PerShot)))
		})
		start := (len(sound) - 8) / 2
		byHand := slices.Max(spreadsOf(c, sound[start:start+8]))
		set := chosen(t, c, Options{Of: 8}).Sets[0].SpreadPct
		if set > byHand+3e-4 {
			t.Fatalf("the exact set spreads %v, the middle eight %v", set, byHand)
		}
		hand, exact, gain = append(hand, byHand), append(exact, set), append(gain, byHand/set)
	}
	if len(gain) < 20 {
		t.Fatalf("only %d of 40 boxes had enough sound injectors", len(gain))
	}
	t.Logf("%d boxes: middle eight %.1f %%, exact %.1f %% (medians); better by a factor of %.1f (median), %.1f to %.1f",
		len(gain), median(hand), median(exact), median(gain), slices.Min(gain), slices.Max(gain))
}

// budgetBox makes 20 injectors within about 15 %, five of them junk.
func budgetBox(r *rand.Rand) box {
	b := newBox(r, 20)
	for i := range b.ids {
		b.flow[i] = 1 + 0.03*r.NormFloat64()
		b.dead[i] = 0.8 + 0.03*r.NormFloat64()
		if i%4 == 0 {
			b.flow[i] *= 0.85 + 0.3*r.Float64()
			b.dead[i] += 0.15 * r.Float64()
		}
	}
	return b
}

func median(x []float64) float64 {
	s := slices.Sorted(slices.Values(x))
	return s[len(s)/2]
}

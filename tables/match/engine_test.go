package match

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"injtab/fit/unit"
)

var v8 = Options{
	Of: 8, Banks: [][]int{{1, 3, 5, 7}, {2, 4, 6, 8}}, FiringOrder: []int{1, 8, 4, 3, 6, 5, 7, 2},
}

// unevenness recomputes what the seats are worth from the readings: the largest
// difference of two banks' means plus that of two cylinders in firing order, each
// the worst at the shortest and the longest pulse, less what a cylinder needs.
func unevenness(t *testing.T, b box, res Result, o Options) float64 {
	t.Helper()
	var banks, next float64
	for _, pulse := range []float64{pulses[0], pulses[len(pulses)-1]} {
		value := map[int]float64{}
		sums, counts := map[int]float64{}, map[int]float64{}
		for _, s := range res.Sets[0].Seats {
			i := indexesOf(t, res.pile.c, []string{s.Injector})[0]
			for p, point := range res.pile.c.Points() {
				if near(point.Pulse.Ms(), pulse) {
					value[s.Cylinder] = 100*math.Log(res.pile.c.Mean(i, p).PerShot.Ml()) - 100*math.Log1p(float64(o.CylinderBias[s.Cylinder]))
				}
			}
			sums[s.Bank] += value[s.Cylinder]
			counts[s.Bank]++
		}
		for a := range sums {
			for b := range sums {
				banks = max(banks, sums[a]/counts[a]-sums[b]/counts[b])
			}
		}
		for at, c := range o.FiringOrder {
			next = max(next, math.Abs(value[c]-value[o.FiringOrder[(at+1)%len(o.FiringOrder)]]))
		}
	}
	return banks + next
}

func TestSeats(t *testing.T) {
	r := rand.New(rand.NewPCG(51, 52))
	for round := range 6 {
		b := newBox(r, 14)
		c := checked(t, b.rows(r))
		o := v8
		if round%2 == 1 {
			o.CylinderBias = map[int]unit.Ratio{1: 0.01, 6: -0.005}
		}
		if len(c.Sound()) < o.Of {
			continue
		}
		res := chosen(t, c, o)
		set := res.Sets[0]
		if len(set.Seats) != 8 || set.Seating == nil || set.Seating.Proof != optimal {
			t.Fatalf("seats %+v, %+v", set.Seats, set.Seating)
		}
		var seated []string
		for at, s := range set.Seats {
			seated = append(seated, s.Injector)
			if s.Cylinder != at+1 || s.Bank != 1+at%2 {
				t.Fatalf("seat %d: %+v", at, s)
			}
		}
		slices.Sort(seated)
		if members := slices.Sorted(slices.Values(set.Injectors)); !slices.Equal(seated, members) {
			t.Fatalf("seated %v, members %v", seated, members)
		}
		if want := unevenness(t, b, res, o); math.Abs(set.Seating.UnevenPct-want) > 1e-3 {
			t.Fatalf("uneven by %v, from the readings %v", set.Seating.UnevenPct, want)
		}
		if s := set.Seating; s.UnevenPct > s.AsNumberedPct+1e-9 || s.UnevenPct > s.RandomPct || !near(s.BoundPct, s.UnevenPct) {
			t.Fatalf("%+v", s)
		}
	}
}

func TestCylindersFromWhatIsSaid(t *testing.T) {
	c := checked(t, small())
	for _, o := range []Options{
		{Cylinders: []int{1, 2, 3, 4}}, {FiringOrder: []int{1, 3, 4, 2}}, {Banks: [][]int{{1, 2}, {3, 4}}},
	} {
		r := chosen(t, c, o)
		if len(r.Sets[0].Seats) != 4 {
			t.Errorf("%+v: seats %+v", o, r.Sets[0].Seats)
		}
	}
	plain := chosen(t, c, Options{Of: 4})
	if plain.Sets[0].Seats == nil || len(plain.Sets[0].Seats) != 0 {
		t.Errorf("seats without an engine: %+v", plain.Sets[0].Seats)
	}
	byName := chosen(t, c, Options{Cylinders: []int{1, 2, 3, 4}})
	if !hasWarning(byName, "seated by name") {
		t.Errorf("warnings: %q", byName.Warnings)
	}
}

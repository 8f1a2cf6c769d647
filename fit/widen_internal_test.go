package fit

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"injtab/fit/internal/lsq"
)

// TestMorePointsNeverWiden an interval while model and scatter are held fixed: the
// variance of any estimate with some of the readings is at least that with all.
func TestMorePointsNeverWiden(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 6))
		b := returning{refD: 0.7, voltage: rng.IntN(2) == 0, lift: rng.IntN(2) == 0}
		f := newFamily(300, 13.5, true, coil{ref: 300}, b)
		all, start := invented(), startNear(f, rng)
		some := all
		some.groups = nil
		for _, group := range all.groups {
			var kept []datum
			for _, x := range group {
				if rng.Float64() < 0.6 {
					kept = append(kept, x)
				}
			}
			some.groups = append(some.groups, kept)
		}
		variance := func(d dataset, shared, local []float64) float64 {
			s, err := lsq.Forecast(f.problem(d, f.deviations(d, start, firstNoise)), start)
			if err != nil {
				t.Skip(err) // too few readings kept for all parameters
			}
			return s.Variance(shared, lsq.Locals{Groups: []int{0}, Slopes: local})
		}
		for range 5 {
			shared, local := make([]float64, f.shared()), make([]float64, locals)
			for i := range shared {
				shared[i] = rng.NormFloat64()
			}
			for i := range local {
				local[i] = rng.NormFloat64()
			}
			with, without := variance(all, shared, local), variance(some, shared, local)
			if with > without*(1+1e-9) || math.IsNaN(with) {
				t.Fatalf("variance %g with all readings, %g with some", with, without)
			}
		}
	})
}

package lsq

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestVarianceFrom: the variance of a difference is that of the gradients' difference.
func TestVarianceFrom(t *testing.T) {
	p, _, start := bumps(8, 30, 4, 0.01, 7)
	s, err := Levenberg(p, start, Options{})
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(5, 5))
	random := func(n int) []float64 {
		x := make([]float64, n)
		for i := range x {
			x[i] = rng.NormFloat64()
		}
		return x
	}
	mean, meanLocal := random(4), map[int][]float64{}
	for g := range 6 {
		meanLocal[g] = random(2)
	}
	reference := s.Reference(mean, meanLocal)
	for _, g := range []int{0, 5, 7} { // 7 is not in the mean
		own, ownLocal := random(4), random(2)
		shared, local := make([]float64, 4), map[int][]float64{g: {ownLocal[0], ownLocal[1]}}
		for i := range shared {
			shared[i] = own[i] - mean[i]
		}
		for k, v := range meanLocal {
			if local[k] == nil {
				local[k] = make([]float64, 2)
			}
			for i := range v {
				local[k][i] -= v[i]
			}
		}
		got, want := reference.VarianceFrom(own, map[int][]float64{g: ownLocal}), s.Variance(shared, local)
		if math.Abs(got/want-1) > 1e-12 {
			t.Errorf("group %d: variance %v, want %v", g, got, want)
		}
	}
	if got := reference.VarianceFrom(mean, meanLocal); got > 1e-12*s.Variance(mean, meanLocal) {
		t.Errorf("the reference differs from itself by a variance of %v", got)
	}
}

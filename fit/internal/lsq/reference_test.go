package lsq

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/floats"
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
	mean, meanLocal := random(4), Locals{[]int{0, 1, 2, 3, 4, 5}, random(12)}
	reference := s.Reference(mean, meanLocal)
	for _, g := range []int{0, 5, 7} { // 7 is not in the mean
		own, ownLocal := random(4), random(2)
		shared, local := make([]float64, 4), Locals{[]int{0, 1, 2, 3, 4, 5, 6, 7}, make([]float64, 16)}
		floats.SubTo(shared, own, mean)
		copy(local.of(g, 2), ownLocal)
		floats.Sub(local.Slopes[:12], meanLocal.Slopes)
		got, want := reference.VarianceFrom(own, Locals{[]int{g}, ownLocal}), s.Variance(shared, local)
		if math.Abs(got/want-1) > 1e-12 {
			t.Errorf("group %d: variance %v, want %v", g, got, want)
		}
	}
	if got := reference.VarianceFrom(mean, meanLocal); got > 1e-12*s.Variance(mean, meanLocal) {
		t.Errorf("the reference differs from itself by a variance of %v", got)
	}
}

package lsq

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
)

func TestLinearRefusesBadData(t *testing.T) {
	x := mat.NewDense(3, 2, []float64{1, 1, 1, 2, 1, 4})
	y := []float64{1, 2, 3}
	for _, c := range []struct {
		name string
		x    *mat.Dense
		y, w []float64
		want error
	}{
		{"value NaN", x, []float64{1, math.NaN(), 3}, nil, ErrNotFinite},
		{"value Inf", x, []float64{1, math.Inf(1), 3}, nil, ErrNotFinite},
		{"weight below zero", x, y, []float64{1, -1, 1}, ErrNotFinite},
		{"design NaN", mat.NewDense(3, 2, []float64{1, 1, 1, math.NaN(), 1, 4}), y, nil, ErrNotFinite},
		{"too few with weight", x, y, []float64{1, 0, 0}, ErrTooFew},
		{"column of zeros", mat.NewDense(3, 2, []float64{1, 0, 1, 0, 1, 0}), y, nil, ErrRank},
	} {
		if _, err := Linear(c.x, c.y, c.w); !errors.Is(err, c.want) {
			t.Errorf("Linear, %s: %v, want %v", c.name, err, c.want)
		}
	}
	for _, c := range []struct {
		name    string
		x, y, w []float64
		want    error
	}{
		{"no points", nil, nil, nil, ErrTooFew},
		{"one point", []float64{1}, []float64{1}, nil, ErrTooFew},
		{"x NaN", []float64{1, math.NaN(), 3}, y, nil, ErrNotFinite},
		{"x Inf", []float64{1, math.Inf(-1), 3}, y, nil, ErrNotFinite},
		{"one x with weight", []float64{1, 1, 3}, y, []float64{1, 1, 0}, ErrRank},
	} {
		if _, err := Line(c.x, c.y, c.w); !errors.Is(err, c.want) {
			t.Errorf("Line, %s: %v, want %v", c.name, err, c.want)
		}
	}
}

// A weight of zero is the same as leaving the reading out, and a weight of two
// the same as having it twice, but for the degrees of freedom.
func TestWeightsMeanRepeats(t *testing.T) {
	x, y := []float64{1, 2, 3, 4, 5}, []float64{2.1, 3.9, 6.2, 50, 9.8}
	a := mustLine(t, x, y, []float64{1, 2, 1, 0, 1})
	b := mustLine(t, []float64{1, 2, 2, 3, 5}, []float64{2.1, 3.9, 3.9, 6.2, 9.8}, nil)
	near(t, "slope", a.Coef[1], b.Coef[1], 1e-12)
	near(t, "sum of squares", a.RSS, b.RSS, 1e-12)
	near(t, "unscaled variance", a.Unscaled.At(0, 0), b.Unscaled.At(0, 0), 1e-12)
	if a.N != 4 || b.N != 5 {
		t.Errorf("N = %d and %d, want 4 and 5", a.N, b.N)
	}
}

func TestNoDegreesOfFreedom(t *testing.T) {
	f := mustLine(t, []float64{1, 3}, []float64{2, 8}, nil)
	near(t, "slope", f.Coef[1], 3, 1e-12)
	if f.Cov != nil || !math.IsInf(f.StdErr(1), 1) || f.Sigma > 0 {
		t.Errorf("two points say nothing of scatter, got %v and %v", f.Cov, f.StdErr(1))
	}
	if lo, hi := f.Interval(1, 0.95); !math.IsInf(lo, -1) || !math.IsInf(hi, 1) {
		t.Errorf("interval %v to %v, want an open one", lo, hi)
	}
	near(t, "known uncertainty", f.Known().StdErr(1), math.Sqrt(0.5), 1e-12)
}

func TestIntervals(t *testing.T) {
	f := mustLine(t, []float64{1, 2, 3, 4}, []float64{1, 3, 2, 4}, nil)
	lo, hi := f.Interval(1, 0.95)
	near(t, "half-width", (hi-lo)/2, 4.302653*f.StdErr(1), 1e-5) // Student's factor for 2 degrees of freedom
	lo, hi = f.Known().Interval(1, 0.95)
	near(t, "half-width, known", (hi-lo)/2, 1.959964*f.Known().StdErr(1), 1e-6)
}

func TestInverseOfAFlatLine(t *testing.T) {
	f := mustLine(t, []float64{1, 2, 3}, []float64{5, 5, 5}, nil)
	if x, u, err := f.Inverse(7, 0); !errors.Is(err, ErrFlat) {
		t.Errorf("got x = %v ± %v, %v", x, u, err)
	}
}

// A belief ten million times sharper than the readings fixes its parameter and
// costs the others no digits.
func TestSharpPrior(t *testing.T) {
	x := mat.NewDense(4, 2, []float64{1, 1, 1, 2, 1, 3, 1, 4})
	y := []float64{3.1, 4.9, 7.2, 8.8}
	p := linearProblem(x, y)
	p.SharedPrior = []Prior{{}, {Mean: 2, SD: 1e-7}}
	s, err := Levenberg(p, Start{Shared: []float64{0, 0}}, Options{Tolerance: 1e-9})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "slope", s.Shared[1], 2, 1e-9)
	near(t, "intercept", s.Shared[0], (3.1+4.9+7.2+8.8)/4-2*2.5, 1e-8)
	near(t, "variance of the intercept", s.Variance([]float64{1, 0}, Locals{}), 0.25, 1e-9)
}

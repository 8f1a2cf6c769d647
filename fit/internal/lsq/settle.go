package lsq

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
)

// foresee returns what a full undamped step of the free parameters would gain.
func (f *fitter) foresee() float64 {
	if !anyOf(f.fixed) {
		return f.full.promise()
	}
	clear(f.damping)
	f.full.damp(&f.damped, f.damping, f.fixed, f.lanes[0].work)
	return f.damped.promise()
}

func anyOf(set []bool) bool {
	for _, v := range set {
		if v {
			return true
		}
	}
	return false
}

// offset is the relative offset: the length of the step still to go in units
// of the uncertainty that the residuals left over give the parameters.
func (f *fitter) offset() float64 {
	left := math.Max(f.sum-f.promise, epsilon*f.sum)
	dof := max(1, f.data+f.p.priors()-f.p.params())
	if left <= 0 {
		return 0
	}
	return math.Sqrt(f.promise / float64(max(1, len(f.b))) / (left / float64(dof)))
}

// verdict judges the end, and leaves its undamped factor.
func (f *fitter) verdict() error {
	tol := math.Max(f.o.Tolerance, math.Min(100*f.o.Tolerance, f.o.Enough))
	rank := f.factor()
	if !(f.offset() <= tol) && (rank != nil || !f.still()) {
		return fmt.Errorf("%w: after %d rounds the next step is still %.2g standard uncertainties",
			ErrNotConverged, f.iterations, f.offset())
	}
	if rank != nil {
		return fmt.Errorf("%w: %w", ErrNotConverged, rank)
	}
	return nil
}

// factor makes the factor of the free parameters without damping, or returns a
// RankError.
func (f *fitter) factor() error {
	clear(f.damping)
	f.full.damp(&f.damped, f.damping, f.fixed, f.lanes[0].work)
	return f.damped.rank(f.norm, f.fixed, rankTolerance(f.data))
}

// still reports a Gauss-Newton step too small to change any parameter by more
// than rounding does: with next to no residual left the offset cannot fall
// further.
func (f *fitter) still() bool {
	f.damped.solve(f.delta, f.fixed)
	return f.scaledNorm(f.delta) <= 1e-11*f.scaledNorm(f.b)
}

// scaledNorm is the length of b with each parameter in units of its influence
// on the residuals.
func (f *fitter) scaledNorm(b []float64) float64 {
	return floats.Norm(floats.MulTo(f.trial, b, f.norm), 2)
}

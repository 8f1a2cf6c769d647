package lsq

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// ErrFlat reports a line without slope where its inverse was asked for.
var ErrFlat = errors.New("the line has no slope")

// Line fits y ≈ a + b·x with weights (nil for equal), Coef = {a, b}. Sums are
// taken about the weighted means, so a large offset of x or y costs no digits.
// Errors as Linear; x that do not differ give a RankError of column 1.
func Line(x, y, w []float64) (Fit, error) {
	checkLengths(len(x), y, w)
	used, err := usable(y, w)
	if err != nil {
		return Fit{}, err
	}
	if used < 2 {
		return Fit{}, fmt.Errorf("%w: %d readings, 2 unknowns", ErrTooFew, used)
	}
	sw, mx, my := centre(x, y, w)
	sxx, sxy := spread(x, y, w, mx, my)
	if !finite(sxx) || !finite(sxy) {
		return Fit{}, fmt.Errorf("%w: in the readings of a line", ErrNotFinite)
	}
	if rounding := epsilon * mx * float64(len(x)); !(sxx > rounding*rounding*sw) {
		return Fit{}, &RankError{Column: 1, Group: -1}
	}
	f := Fit{N: used, DoF: used - 2, Residuals: make([]float64, len(y))}
	b := sxy / sxx
	f.Coef = []float64{my - b*mx, b}
	f.lineResiduals(x, y, w, mx, my)
	f.Unscaled = mat.NewSymDense(2, []float64{1/sw + mx*mx/sxx, -mx / sxx, -mx / sxx, 1 / sxx})
	f.finish()
	return f, nil
}

// centre returns the sum of weights and the weighted means.
func centre(x, y, w []float64) (sw, mx, my float64) {
	if w == nil {
		sw = float64(len(x))
		return sw, floats.Sum(x) / sw, floats.Sum(y) / sw
	}
	for i := range x {
		sw += w[i]
		mx += w[i] * x[i]
		my += w[i] * y[i]
	}
	return sw, mx / sw, my / sw
}

// spread returns the weighted sums of squares and products about the means.
func spread(x, y, w []float64, mx, my float64) (sxx, sxy float64) {
	for i := range x {
		wi := weight(w, i)
		dx := x[i] - mx
		sxx += wi * dx * dx
		sxy += wi * dx * (y[i] - my)
	}
	return sxx, sxy
}

// lineResiduals fills Residuals, RSS and RSquared in one pass.
func (f *Fit) lineResiduals(x, y, w []float64, mx, my float64) {
	rss, total, b, residuals := 0.0, 0.0, f.Coef[1], f.Residuals // sums in registers: half of the time
	for i := range x {
		wi := weight(w, i)
		dy := y[i] - my
		e := dy - b*(x[i]-mx)
		residuals[i] = e
		rss += wi * e * e
		total += wi * dy * dy
	}
	f.RSS, f.RSquared = rss, 1
	if total > 0 {
		f.RSquared = 1 - rss/total
	}
}

// Inverse returns the x at which the fitted line (a Fit of Line) has the value
// y0, and its standard uncertainty from those of the line and of y0 (uy):
//
//	u² = (uy² + u²(a) + 2·x·u(a,b) + x²·u²(b)) / b²
//
// the law of propagation with the covariance of a and b, which matters: see
// JCGM 100:2008, 5.2.2 and H.3. It holds while u(b) is small against b.
func (f Fit) Inverse(y0, uy float64) (x, u float64, err error) {
	x = (y0 - f.Coef[0]) / f.Coef[1]
	if !finite(x) {
		return 0, 0, ErrFlat
	}
	_, line := f.Predict([]float64{1, x})
	return x, math.Hypot(uy, line) / math.Abs(f.Coef[1]), nil
}

// XIntercept returns where the fitted line is zero, and its standard uncertainty.
func (f Fit) XIntercept() (x, u float64, err error) { return f.Inverse(0, 0) }

package lsq

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Fit is a fitted linear model y ≈ x·Coef.
//
// Weights are taken as relative: Cov = Sigma²·Unscaled, with Sigma estimated
// from the residuals. Where the weights are 1/u² of standard uncertainties that
// are known, use Known.
type Fit struct {
	Coef      []float64
	Cov       *mat.SymDense // covariance of Coef; nil when DoF is 0, for nothing tells the scatter
	Unscaled  *mat.SymDense // (xᵀWx)⁻¹
	Sigma     float64       // standard deviation of an observation of weight 1; 0 when DoF is 0
	RSS       float64       // weighted sum of squared residuals
	RSquared  float64       // about the weighted mean when a column of x is constant, else about zero
	N         int           // observations of weight above zero
	DoF       int           // N minus coefficients
	Residuals []float64     // y - x·Coef, not weighted

	known bool
}

// goodness fills RSS and RSquared.
func (f *Fit) goodness(y, w []float64, constant bool) {
	mean := 0.0
	if constant {
		mean = weightedMean(y, w)
	}
	total := 0.0
	f.RSS = 0
	for i, e := range f.Residuals {
		wi := weight(w, i)
		f.RSS += wi * e * e
		total += wi * (y[i] - mean) * (y[i] - mean)
	}
	f.RSquared = 1
	if total > 0 {
		f.RSquared = 1 - f.RSS/total
	}
}

// finish fills Sigma and Cov from RSS, DoF and Unscaled.
func (f *Fit) finish() {
	if f.DoF <= 0 {
		return
	}
	f.Sigma = math.Sqrt(f.RSS / float64(f.DoF))
	f.Cov = mat.NewSymDense(len(f.Coef), nil)
	f.Cov.ScaleSym(f.Sigma*f.Sigma, f.Unscaled)
}

// Known returns the fit for weights that are 1/u² of known standard
// uncertainties u: the covariance is Unscaled, the scatter of the residuals is
// not used, and intervals use the normal distribution. RSS is then chi-squared
// with DoF degrees of freedom.
func (f Fit) Known() Fit {
	f.Cov = f.Unscaled
	f.Sigma = 1
	f.known = true
	return f
}

// StdErr returns the standard uncertainty of coefficient i, +Inf when DoF is 0.
func (f Fit) StdErr(i int) float64 {
	if f.Cov == nil {
		return math.Inf(1)
	}
	return math.Sqrt(f.Cov.At(i, i))
}

// Interval returns the interval of coefficient i at a level such as 0.95.
func (f Fit) Interval(i int, level float64) (lo, hi float64) {
	h := f.StdErr(i) * f.Coverage(level)
	return f.Coef[i] - h, f.Coef[i] + h
}

// Coverage is the factor from standard uncertainty to half-width at the level:
// Student's quantile for DoF, or the normal one after Known.
func (f Fit) Coverage(level float64) float64 {
	if f.known {
		return distuv.UnitNormal.Quantile((1 + level) / 2)
	}
	return T(level, f.DoF)
}

// Predict returns the fitted value at a row of x and its standard uncertainty
// (of the fitted value, without the scatter of one further observation).
func (f Fit) Predict(row []float64) (value, u float64) {
	value = floats.Dot(row, f.Coef)
	if f.Cov == nil {
		return value, math.Inf(1)
	}
	g := mat.NewVecDense(len(row), row)
	return value, math.Sqrt(math.Max(0, mat.Inner(g, f.Cov, g)))
}

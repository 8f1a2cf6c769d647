package lsq

import (
	"math"
	"slices"
)

// Tuning constants that give 95 % efficiency on normal data (Holland and
// Welsch, Communications in Statistics A6, 1977, from memory).
const (
	cauchyTuning = 2.385
	tukeyTuning  = 4.685
)

// RobustOptions of an iteratively reweighted fit; the zero value is a good choice
// for residuals divided by their standard uncertainty.
type RobustOptions struct {
	Options

	CauchyRounds int     // rounds of the Cauchy loss before Tukey's; 0 means 5, below 0 none
	MaxRounds    int     // rounds in all; 0 means 12
	FreeScale    bool    // let the scale fall below 1: the uncertainties are relative only
	Settled      float64 // largest change of a weight that counts as none; 0 means 1e-3
}

func (o RobustOptions) withDefaults() RobustOptions {
	if o.CauchyRounds == 0 {
		o.CauchyRounds = 5
	}
	if o.MaxRounds <= 0 {
		o.MaxRounds = 12
	}
	if o.Settled <= 0 {
		o.Settled = 1e-3
	}
	return o
}

// Robust fits p so that gross errors do not move the result: least squares
// reweighted in rounds, with weights from the residuals of the round before
// (at first of the start, which should itself be resistant). Cauchy's loss
// comes first because it pulls in from afar, then Tukey's bisquare, which gives
// gross errors no say at all. The scale of a residual is 1.4826·median|r| over
// all groups, at least 1 unless FreeScale is set. Weights already in p multiply
// those found here.
//
// It returns the fit of the last round and the weights it was made with, per
// group; weights below about 0.1 mark readings that the others contradict.
// Errors are those of Levenberg.
func Robust(p Problem, s Start, o RobustOptions) (Solution, [][]float64, error) {
	o = o.withDefaults()
	p.check(s)
	residuals := p.residuals(s)
	prior := p.Weights
	p.Weights = nil
	var fit Solution
	for round := range o.MaxRounds {
		loss := tukey
		if round < o.CauchyRounds {
			loss = cauchy
		}
		weights := reweigh(residuals, prior, robustScale(residuals, o.FreeScale), loss)
		if round > o.CauchyRounds && p.Weights != nil && settled(p.Weights, weights, o.Settled) {
			break
		}
		p.Weights = weights
		next, err := Levenberg(p, s, o.Options)
		if err != nil {
			return Solution{}, nil, err
		}
		fit, residuals = next, next.Residuals
		s = Start{Shared: fit.Shared, Local: fit.Local}
	}
	return fit, p.Weights, nil
}

// residuals evaluates all groups at the start.
func (p *Problem) residuals(s Start) [][]float64 {
	all := make([][]float64, len(p.Groups))
	for g, m := range p.Groups {
		var local []float64
		if s.Local != nil {
			local = s.Local[g]
		}
		all[g] = make([]float64, m)
		p.Eval(g, local, s.Shared, all[g], nil)
	}
	return all
}

// robustScale is the median size of a residual as a standard deviation.
func robustScale(residuals [][]float64, free bool) float64 {
	sizes := slices.Concat(residuals...)
	for i, r := range sizes {
		sizes[i] = math.Abs(r)
	}
	scale := madToSigma * median(sizes)
	if !free {
		scale = math.Max(1, scale)
	}
	return math.Max(scale, math.SmallestNonzeroFloat64)
}

// cauchy and tukey give the weight of a residual of u scales.
func cauchy(u float64) float64 {
	u /= cauchyTuning
	return 1 / (1 + u*u)
}

func tukey(u float64) float64 {
	u /= tukeyTuning
	if !(math.Abs(u) < 1) {
		return 0
	}
	return (1 - u*u) * (1 - u*u)
}

func reweigh(residuals, prior [][]float64, scale float64, loss func(u float64) float64) [][]float64 {
	weights := make([][]float64, len(residuals))
	for g, r := range residuals {
		weights[g] = make([]float64, len(r))
		for i, v := range r {
			weights[g][i] = loss(v / scale)
			if prior != nil {
				weights[g][i] *= prior[g][i]
			}
		}
	}
	return weights
}

// settled reports whether no weight differs by more than tol.
func settled(a, b [][]float64, tol float64) bool {
	for g := range a {
		for i := range a[g] {
			if math.Abs(a[g][i]-b[g][i]) > tol {
				return false
			}
		}
	}
	return true
}

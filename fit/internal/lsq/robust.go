package lsq

import "math"

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

// roundSteps is how many steps are taken before weights are looked at again:
// following weights to the end that are wrong yet only wastes time.
const roundSteps = 5

func (o RobustOptions) withDefaults() RobustOptions {
	if o.CauchyRounds == 0 {
		o.CauchyRounds = 5
	}
	o.CauchyRounds = max(0, o.CauchyRounds)
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
// Scale of the fit then allows for the reweighting. A group whose readings all
// lose their weight needs a prior, or its own parameters cannot be told. Errors
// are those of Levenberg.
func Robust(p Problem, s Start, o RobustOptions) (Solution, [][]float64, error) {
	o = o.withDefaults()
	p.check(s)
	given := p.Weights
	f := newFitter(&p, s, o.Options.withDefaults())
	residuals := f.evaluated()
	rooms := [2][][]float64{p.byReading(1), p.byReading(1)} // for the weights of this round and of the last
	for round := range o.MaxRounds {
		loss := tukey
		if round < o.CauchyRounds {
			loss = cauchy
		}
		weights := rooms[round%2]
		reweigh(weights, residuals, given, robustScale(residuals, given, o.FreeScale), loss)
		if round > max(o.CauchyRounds, 0) && settled(p.Weights, weights, o.Settled) {
			break
		}
		p.Weights, f.fresh = weights, false
		if err := f.round(); err != nil {
			return Solution{}, nil, err
		}
		residuals = f.res
	}
	fit, err := f.fit()
	if err != nil {
		return Solution{}, nil, err
	}
	scale := robustScale(fit.Residuals, given, o.FreeScale)
	fit.spread = reweightedScale(&p, &fit, given, scale)
	return fit, p.Weights, nil
}

// round takes a few steps with the weights of the problem.
func (f *fitter) round() error {
	if err := f.begin(); err != nil {
		return err
	}
	return f.descend(roundSteps)
}

// trust is the weight given to residual i of group g before any reweighting.
func trust(given [][]float64, g, i int) float64 {
	if given == nil {
		return 1
	}
	return given[g][i]
}

// robustScale is the median size of a residual as a standard deviation; those
// given the weight zero do not count.
func robustScale(residuals, given [][]float64, free bool) float64 {
	all, within := tally(residuals, given)
	if !free && 2*within > all { // no median need be sought, a fiftieth of the time of an archive's fit
		return 1
	}
	sizes := make([]float64, 0, all)
	for g, r := range residuals {
		for i, v := range r {
			if trust(given, g, i) > 0 {
				sizes = append(sizes, math.Abs(v))
			}
		}
	}
	scale := math.SmallestNonzeroFloat64
	if !free {
		scale = 1
	}
	if len(sizes) > 0 {
		scale = math.Max(scale, madToSigma*Median(sizes))
	}
	return scale
}

// tally counts the residuals and those within the median of a scale of 1; those given the
// weight zero do not count.
func tally(residuals, given [][]float64) (all, within int) {
	for g, r := range residuals {
		for i, v := range r {
			if trust(given, g, i) > 0 {
				all++
				if madToSigma*math.Abs(v) <= 1 {
					within++
				}
			}
		}
	}
	return all, within
}

// reweightedScale is the factor on the square root of g'(JᵀWJ)⁻¹g that gives
// the standard uncertainty of an estimate by Tukey's loss. With ψ the influence
// of a residual (its loss weight times itself), s the scale, n residuals and k
// parameters determined by them, Huber's asymptotic variance (Robust Statistics, 1981, 7.6, from
// memory) is
//
//	K²·Σψ²/(n-k) / mean(ψ')² · (JᵀJ)⁻¹,   K = 1 + k/n · var(ψ')/mean(ψ')²
//
// and (JᵀJ)⁻¹ is near mean(w)·(JᵀWJ)⁻¹. The plain RSS of reweighted residuals
// would claim too little. It is 0, for the plain scale, when that cannot be had.
func reweightedScale(p *Problem, fit *Solution, given [][]float64, s float64) float64 {
	var n, sumW, sumPsi2, sumSlope, sumSlope2 float64
	for g, r := range fit.Residuals {
		for i, v := range r {
			t := trust(given, g, i)
			if t <= 0 {
				continue
			}
			w, slope := p.Weights[g][i], t*tukeySlope(v/s)
			n++
			sumW += w
			sumPsi2 += w * v * w * v
			sumSlope += slope
			sumSlope2 += slope * slope
		}
	}
	k := fit.determined(p)
	mean := sumSlope / n
	if !(n > k) || !(mean > 0) {
		return 0
	}
	correction := 1 + k/n*(sumSlope2/n-mean*mean)/(mean*mean)
	return correction * math.Sqrt(sumPsi2/(n-k)*sumW/n) / mean
}

// determined is how many parameters the readings determine: the free ones less
// what the priors determine of them, Σ variance/SD².
func (s *Solution) determined(p *Problem) float64 {
	k := float64(s.N - s.DoF)
	for i, prior := range p.SharedPrior {
		if prior.SD > 0 {
			unit := make([]float64, p.Shared)
			unit[i] = 1 / prior.SD
			k -= s.Variance(unit, Locals{})
		}
	}
	for i, prior := range p.LocalPrior {
		if prior.SD > 0 {
			unit := make([]float64, p.Local)
			unit[i] = 1 / prior.SD
			for g := range p.Groups {
				k -= s.Variance(nil, Locals{[]int{g}, unit})
			}
		}
	}
	return k
}

// tukeySlope is the derivative of the influence u·tukey(u).
func tukeySlope(u float64) float64 {
	u /= tukeyTuning
	if !(math.Abs(u) < 1) {
		return 0
	}
	return (1 - u*u) * (1 - 5*u*u)
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

// reweigh puts the weights of residuals into weights.
func reweigh(weights, residuals, given [][]float64, scale float64, loss func(u float64) float64) {
	for g, r := range residuals {
		for i, v := range r {
			weights[g][i] = 0
			if t := trust(given, g, i); t > 0 {
				weights[g][i] = t * loss(v/scale)
			}
		}
	}
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

package lsq

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
)

// Options of a nonlinear fit; the zero value is a good choice.
type Options struct {
	MaxIterations int // 0 means 200

	// Tolerance is the step still to go, in standard uncertainties of the
	// parameters, at which the fit ends; 0 means 1e-6. Where slow steps or
	// rounding end it sooner, a hundred times as much still counts as settled.
	Tolerance float64
}

func (o Options) withDefaults() Options {
	if o.MaxIterations <= 0 {
		o.MaxIterations = 200
	}
	if o.Tolerance <= 0 {
		o.Tolerance = 1e-6
	}
	return o
}

// Levenberg fits p from the start s by Levenberg and Marquardt's method:
// steps damped in proportion to the largest column norms seen (Moré, 1978),
// damping led by the ratio of actual to foretold gain (Nielsen, 1999; both from
// memory), bounds by projection with an active set, and undamped Gauss-Newton
// steps at the end for the last digits.
//
// It has converged when the step still to go is below Tolerance (root mean
// square over the parameters: the relative offset of Bates and Watts,
// Technometrics 23, 1981, from memory), or when no residual to speak of is
// left. If that is not reached the error is ErrNotConverged; a fit whose
// parameters the data cannot tell apart gives a RankError, and a start where
// the model has no value ErrNotFinite. On error the Solution is empty.
func Levenberg(p Problem, s Start, o Options) (Solution, error) {
	p.check(s)
	f := newFitter(&p, s, o.withDefaults())
	if free := f.data + p.priors() - p.params(); free < 0 {
		return Solution{}, fmt.Errorf("%w: %d readings and beliefs, %d unknowns",
			ErrTooFew, f.data+p.priors(), p.params())
	}
	if err := f.run(); err != nil {
		return Solution{}, err
	}
	return f.solution(), nil
}

// fitter holds the state of one fit. All vectors over parameters are flat:
// shared ones, then the local ones of group after group. Nothing is allocated
// once it is made.
type fitter struct {
	p      *Problem
	o      Options
	data   int // residuals of weight above zero
	lo, hi []float64

	b, trial, delta []float64
	grad, norm      []float64
	size            []float64 // largest column norm so far: the scale of damping
	damping         []float64
	fixed           []bool // at a bound and pushed against it

	full, damped arrow
	r, jac, work []float64
	sum, first   float64 // sum of squares, here and at the start
	iterations   int
}

func newFitter(p *Problem, s Start, o Options) *fitter {
	n, most := p.params(), 0
	for _, m := range p.Groups {
		most = max(most, m)
	}
	cols := p.Local + p.Shared
	f := &fitter{p: p, o: o, full: newArrow(p), damped: newArrow(p)}
	f.lo = p.spreadOut(p.SharedMin, p.LocalMin, math.Inf(-1))
	f.hi = p.spreadOut(p.SharedMax, p.LocalMax, math.Inf(1))
	f.b = p.flat(s)
	f.project(f.b)
	for _, v := range []*[]float64{&f.trial, &f.delta, &f.grad, &f.norm, &f.size, &f.damping} {
		*v = make([]float64, n)
	}
	f.fixed = make([]bool, n)
	f.r = make([]float64, most)
	f.jac = make([]float64, most*cols)
	f.work = make([]float64, (most+2*p.Local)*(cols+1))
	f.data = p.weighted()
	return f
}

// weighted counts the residuals of weight above zero.
func (p *Problem) weighted() int {
	n := 0
	for g, m := range p.Groups {
		n += m
		if p.Weights == nil {
			continue
		}
		for _, w := range p.Weights[g] {
			if w <= 0 {
				n--
			}
		}
	}
	return n
}

// project moves b to the nearest point within the bounds.
func (f *fitter) project(b []float64) {
	for i, v := range b {
		b[i] = math.Min(math.Max(v, f.lo[i]), f.hi[i])
	}
}

// run leads the damping until the offset is small, then polishes.
func (f *fitter) run() error {
	if err := f.begin(); err != nil {
		return err
	}
	lambda, grow := 1e-3, 2.0
	for f.iterations = 0; f.iterations < f.o.MaxIterations; f.iterations++ {
		if f.offset() <= math.Sqrt(f.o.Tolerance) || f.exact() {
			break
		}
		ok := false
		lambda, grow, ok = f.advance(lambda, grow)
		if !ok {
			break
		}
		if err := f.linearise(); err != nil {
			return err
		}
		f.aim()
	}
	return f.finish()
}

// begin linearises at the start.
func (f *fitter) begin() error {
	if err := f.linearise(); err != nil {
		return err
	}
	f.first = f.sum
	f.aim()
	return nil
}

// advance raises the damping until a step lowers the sum of squares, takes it
// and lowers the damping as far as the foretold gain came true. It returns
// false when no step helps any more.
func (f *fitter) advance(lambda, grow float64) (nextLambda, nextGrow float64, ok bool) {
	for lambda < 1e30 {
		gain, foretold := f.try(lambda)
		if foretold > 0 && gain > 1e-4*foretold {
			f.b, f.trial = f.trial, f.b
			off := 2*gain/foretold - 1
			return math.Max(1e-15, lambda*math.Max(0.1, 1-off*off*off)), 2, true
		}
		lambda *= grow
		grow *= 2
	}
	return lambda, grow, false
}

// try makes the step at damping lambda, leaves where it leads in trial and
// returns the actual and the foretold fall of the sum of squares. A step out of
// the model's domain has a gain of -Inf.
func (f *fitter) try(lambda float64) (gain, foretold float64) {
	f.step(lambda)
	foretold = f.full.gain(f.delta)
	sum := f.evaluate(f.trial)
	if !finite(sum) {
		return math.Inf(-1), foretold
	}
	return f.sum - sum, foretold
}

// step solves for the step at damping lambda and projects it on the bounds.
func (f *fitter) step(lambda float64) {
	root := math.Sqrt(lambda)
	for i, s := range f.size {
		f.damping[i] = root * s
	}
	f.full.damp(&f.damped, f.damping, f.fixed, f.work)
	f.damped.solve(f.delta, f.fixed)
	for i, b := range f.b {
		f.trial[i] = math.Min(math.Max(b+f.delta[i], f.lo[i]), f.hi[i])
		f.delta[i] = f.trial[i] - b
	}
}

// aim finds gradient, damping scale and the parameters held at a bound.
func (f *fitter) aim() {
	f.full.gradient(f.grad, f.norm)
	for i, n := range f.norm {
		f.size[i] = math.Max(f.size[i], n)
		if f.size[i] <= 0 {
			f.size[i] = 1
		}
		f.fixed[i] = f.atBound(i)
	}
}

// atBound reports whether parameter i is pushed against a bound it is at, or so
// near that going there changes no residual; it is then moved there.
func (f *fitter) atBound(i int) bool {
	bound := f.lo[i]
	if f.grad[i] < 0 {
		bound = f.hi[i]
	}
	distance := math.Abs(f.b[i] - bound)
	near := distance <= 0 || f.norm[i] > 0 && f.norm[i]*distance <= 1e-10*math.Sqrt(f.sum)
	if near {
		f.b[i] = bound
	}
	return near
}

// promise is what a full undamped step of the free parameters would gain.
func (f *fitter) promise() float64 {
	if !anyOf(f.fixed) {
		return f.full.promise()
	}
	clear(f.damping)
	f.full.damp(&f.damped, f.damping, f.fixed, f.work)
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
	promise := f.promise()
	left := math.Max(f.sum-promise, epsilon*f.sum)
	dof := max(1, f.data+f.p.priors()-f.p.params())
	if left <= 0 {
		return 0
	}
	return math.Sqrt(promise / float64(max(1, len(f.b))) / (left / float64(dof)))
}

// exact reports residuals that are nothing but rounding.
func (f *fitter) exact() bool {
	return f.sum <= 1e-28*f.first || f.sum <= 1e-28*float64(f.data)
}

// finish takes Gauss-Newton steps down to the tolerance while the promise of a
// further one falls, then asks whether the end is a solution.
func (f *fitter) finish() error {
	promise := f.promise()
	for range f.o.MaxIterations {
		if f.exact() || f.offset() <= f.o.Tolerance || !f.polish(&promise) {
			break
		}
		f.iterations++
	}
	return f.verdict()
}

// polish takes one undamped step, or turns back and returns false where that
// does not bring the solution closer.
func (f *fitter) polish(promise *float64) bool {
	f.step(0)
	f.b, f.trial = f.trial, f.b
	before := f.sum
	if f.linearise() == nil && f.sum <= before*(1+1e-9) {
		f.aim()
		if next := f.promise(); next < 0.8**promise {
			*promise = next
			return true
		}
	}
	f.b, f.trial = f.trial, f.b
	if f.linearise() == nil { // as it was
		f.aim()
	}
	return false
}

// verdict judges the end, and leaves its undamped factor.
func (f *fitter) verdict() error {
	offset := f.offset()
	rank := f.factor()
	if !(offset <= 100*f.o.Tolerance) && !f.exact() && (rank != nil || !f.still()) {
		return fmt.Errorf("%w: after %d rounds the next step is still %.2g standard uncertainties",
			ErrNotConverged, f.iterations, offset)
	}
	return rank
}

// factor makes the factor of the free parameters without damping, or returns a
// RankError.
func (f *fitter) factor() error {
	clear(f.damping)
	f.full.damp(&f.damped, f.damping, f.fixed, f.work)
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

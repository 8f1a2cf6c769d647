package lsq

import (
	"fmt"
	"math"
)

// Options of a nonlinear fit; the zero value is a good choice.
type Options struct {
	MaxIterations int // 0 means 200

	// Tolerance is the step still to go, in standard uncertainties of the
	// parameters, at which the fit ends; 0 means 1e-6. Where slow steps or
	// rounding end it sooner, a hundred times as much still counts as settled,
	// though no more than Enough (0 means 0.001).
	Tolerance float64
	Enough    float64
}

func (o Options) withDefaults() Options {
	if o.MaxIterations <= 0 {
		o.MaxIterations = 200
	}
	if o.Tolerance <= 0 {
		o.Tolerance = 1e-6
	}
	if o.Enough <= 0 {
		o.Enough = 1e-3
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
// Technometrics 23, 1981, from memory), or when that step is mere rounding of
// the parameters, as with data that fit exactly. Otherwise the error is ErrNotConverged, and a RankError as well where the
// data cannot tell the parameters apart at the end; ErrNotFinite where the model
// has no value at the start; ErrTooFew. On error the Solution is empty.
func Levenberg(p Problem, s Start, o Options) (Solution, error) {
	p.check(s)
	return newFitter(&p, s, o.withDefaults()).fit()
}

// fit fits from b with the weights as they are now.
func (f *fitter) fit() (Solution, error) {
	if have := f.p.weighted() + f.p.priors(); have < f.p.params() {
		return Solution{}, fmt.Errorf("%w: %d readings and beliefs, %d unknowns", ErrTooFew, have, f.p.params())
	}
	f.iterations = 0
	if err := f.run(); err != nil {
		return Solution{}, err
	}
	return f.solution(), nil
}

// fitter holds the state of one fit. All vectors over parameters are flat:
// shared ones, then the local ones of group after group. Its
// buffers are made once.
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
	lanes        []lane
	res          [][]float64 // residuals at b, by group
	jac          [][]float64 // by group; nil: too many, made anew in the lanes
	next         [][]float64 // residuals of the step that was tried last, by group, with jac
	kept         bool        // jac is that at b
	ahead        bool        // jac and next are those at b, next is not in res yet
	fresh        bool        // full is the factor at b with the weights as they are now
	sum, promise float64     // sum of squares at b, and what an undamped step would take off it
	iterations   int
}

func newFitter(p *Problem, s Start, o Options) *fitter {
	n := p.params()
	f := &fitter{p: p, o: o, full: newArrow(p), damped: newArrow(p)}
	f.lo = p.spreadOut(p.SharedMin, p.LocalMin, math.Inf(-1))
	f.hi = p.spreadOut(p.SharedMax, p.LocalMax, math.Inf(1))
	f.b = p.flat(s)
	f.project(f.b)
	for _, v := range []*[]float64{&f.trial, &f.delta, &f.grad, &f.norm, &f.size, &f.damping} {
		*v = make([]float64, n)
	}
	f.fixed = make([]bool, n)
	f.res = p.byReading(1)
	if cols := p.Local + p.Shared; p.readings()*cols <= mostKept {
		f.jac, f.next = p.byReading(cols), p.byReading(1)
	}
	f.lanes = newLanes(p, f.jac == nil)
	return f
}

// readings counts the residuals of all groups.
func (p *Problem) readings() (n int) {
	for _, m := range p.Groups {
		n += m
	}
	return n
}

// byReading is room for so many numbers a residual, by group.
func (p *Problem) byReading(numbers int) [][]float64 {
	all, out := make([]float64, p.readings()*numbers), make([][]float64, len(p.Groups))
	for g, m := range p.Groups {
		out[g], all = all[:m*numbers:m*numbers], all[m*numbers:]
	}
	return out
}

// mostKept is how many numbers a Jacobian may have, 16 MB, that is kept from one step to
// the next: the fit of an archive then evaluates its model half as often.
const mostKept = 1 << 21

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

// run fits from b to the end.
func (f *fitter) run() error {
	if err := f.begin(); err != nil {
		return err
	}
	if err := f.descend(f.o.MaxIterations); err != nil {
		return err
	}
	return f.finish()
}

// descend leads the damping until the offset is small, at most so many steps.
func (f *fitter) descend(steps int) error {
	lambda, grow, ok := 1e-3, 2.0, true
	for range steps {
		if f.offset() <= math.Sqrt(f.o.Tolerance) {
			return nil
		}
		if lambda, grow, ok = f.advance(lambda, grow); !ok {
			return nil
		}
		f.iterations++
		if err := f.linearise(); err != nil {
			return err
		}
		f.aim()
	}
	return nil
}

// begin linearises at b with the weights as they are now. Other weights need no other
// Jacobian, which is a tenth of the time of a robust fit.
func (f *fitter) begin() error {
	f.data = f.p.weighted()
	clear(f.size)
	var err error
	switch {
	case f.fresh:
	case f.kept:
		err = f.decompose()
	default:
		err = f.linearise()
	}
	if err != nil {
		return err
	}
	f.aim()
	return nil
}

// finish takes Gauss-Newton steps down to the tolerance while the promise of a
// further one falls, then asks whether the end is a solution.
func (f *fitter) finish() error {
	for range f.o.MaxIterations {
		if f.offset() <= f.o.Tolerance || !f.polish() {
			break
		}
		f.iterations++
	}
	return f.verdict()
}

// polish takes one undamped step, or turns back and returns false where that
// does not bring the solution closer.
func (f *fitter) polish() bool {
	sum, promise := f.sum, f.promise
	f.step(0)
	f.b, f.trial = f.trial, f.b
	if f.linearise() == nil && f.sum <= sum*(1+1e-9) {
		if f.aim(); f.promise < 0.8*promise {
			return true
		}
	}
	f.b, f.trial = f.trial, f.b
	if f.linearise() == nil { // it had a value here before
		f.aim()
	}
	return false
}

package lsq

import "math"

// advance raises the damping until a step lowers the sum of squares, takes it
// and lowers the damping as far as the foretold gain came true. It returns
// false when no step helps any more.
func (f *fitter) advance(lambda, grow float64) (nextLambda, nextGrow float64, ok bool) {
	for lambda < 1e30 {
		gain, foretold := f.try(lambda)
		if foretold > 0 && gain > 1e-4*foretold {
			f.b, f.trial = f.trial, f.b
			f.ahead = f.jac != nil
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
	f.full.damp(&f.damped, f.damping, f.fixed, f.lanes[0].work)
	f.damped.solve(f.delta, f.fixed)
	for i, b := range f.b {
		f.trial[i] = math.Min(math.Max(b+f.delta[i], f.lo[i]), f.hi[i])
		f.delta[i] = f.trial[i] - b
	}
}

// aim finds gradient, damping scale, the parameters held at a bound and the
// promise of the others, all from the factor at b.
func (f *fitter) aim() {
	f.full.gradient(f.grad, f.norm)
	for i, n := range f.norm {
		f.size[i] = math.Max(f.size[i], n)
		if f.size[i] <= 0 {
			f.size[i] = 1
		}
		f.fixed[i] = f.atBound(i)
	}
	f.promise = f.foresee()
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

// project moves b to the nearest point within the bounds.
func (f *fitter) project(b []float64) {
	for i, v := range b {
		b[i] = math.Min(math.Max(v, f.lo[i]), f.hi[i])
	}
}

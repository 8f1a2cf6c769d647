package lsq

import (
	"fmt"
	"math"
	"slices"
)

// split returns the parameters of group g and the shared ones in a flat vector.
func (f *fitter) split(b []float64, g int) (local, shared []float64) {
	at := f.p.local(g)
	return b[at : at+f.p.Local], b[:f.p.Shared]
}

// evaluate returns the sum of squares at b, priors included. Where there is room for
// them it keeps residuals and Jacobian: nine of ten steps are taken, and linearise
// then need not look again, which is a fifth of the time of a fit.
func (f *fitter) evaluate(b []float64) float64 {
	f.kept = false
	sum := f.beliefs(b)
	f.eachGroup(func(l *lane, g int) {
		local, shared := f.split(b, g)
		r, j := l.r[:f.p.Groups[g]], []float64(nil)
		if f.jac != nil {
			r, j = f.next[g], f.jac[g]
			clear(j)
		}
		f.p.Eval(g, local, shared, r, j)
		l.sum = f.p.squares(g, r)
	}, func(l *lane, _ int) { sum += l.sum })
	return sum
}

// squares is the weighted sum of squares of the residuals of group g. A
// residual of weight zero counts for nothing, even when it has no value.
func (p *Problem) squares(g int, r []float64) float64 {
	sum := 0.0
	if p.Weights == nil {
		for _, v := range r {
			sum += v * v
		}
		return sum
	}
	for i, w := range p.Weights[g] {
		if w > 0 {
			sum += w * r[i] * r[i]
		}
	}
	return sum
}

// beliefs is the sum of squares of the priors at b.
func (f *fitter) beliefs(b []float64) float64 {
	sum := 0.0
	for i, prior := range f.p.SharedPrior {
		e := prior.residual(b[i])
		sum += e * e
	}
	for k, prior := range f.p.LocalPrior {
		for g := range f.p.Groups {
			e := prior.residual(b[f.p.local(g)+k])
			sum += e * e
		}
	}
	return sum
}

// linearise evaluates residuals and Jacobian at b and factors them.
func (f *fitter) linearise() error {
	f.kept = false
	err := f.decompose()
	f.kept, f.ahead = err == nil && f.jac != nil, false
	return err
}

// look puts residuals and Jacobian of group g at b in place, if they are not.
func (f *fitter) look(l *lane, g int) {
	switch {
	case f.kept:
	case f.ahead:
		copy(f.res[g], f.next[g])
	default:
		local, shared := f.split(f.b, g)
		j := f.jacobian(l, g)
		clear(j)
		f.p.Eval(g, local, shared, f.res[g], j)
	}
}

// jacobian is that of group g, in its lane where there is no room for all.
func (f *fitter) jacobian(l *lane, g int) []float64 {
	if f.jac != nil {
		return f.jac[g]
	}
	return l.jac[:f.p.Groups[g]*(f.p.Local+f.p.Shared)]
}

// decompose factors residuals and Jacobian with the weights as they are now.
func (f *fitter) decompose() error {
	p := f.p
	f.full.tri.reset()
	f.sum = f.beliefs(f.b)
	f.eachGroup(func(l *lane, g int) {
		f.look(l, g)
		l.sum = p.squares(g, f.res[g])
		l.rows = f.fill(l.work, g, f.res[g], f.jacobian(l, g))
		f.full.part(g, l.work, l.rows, l.rows)
	}, func(l *lane, _ int) {
		f.sum += l.sum
		f.full.share(l.work, l.rows, l.rows)
	})
	for i, prior := range p.SharedPrior {
		if prior.SD > 0 {
			f.full.tri.pushUnit(i, 1/prior.SD, prior.residual(f.b[i]))
		}
	}
	f.full.tri.absorb()
	if f.fresh = finite(f.sum) && f.full.finite(); !f.fresh {
		return fmt.Errorf("%w: the model has no value or no slope here", ErrNotFinite)
	}
	return nil
}

// fill lays the weighted rows [J r] of group g, and its priors, column-major
// into work and returns how many rows they are.
func (f *fitter) fill(work []float64, g int, r, j []float64) int {
	p := f.p
	cols := p.Local + p.Shared
	rows := len(r) + len(p.LocalPrior)
	clear(work[:rows*(cols+1)])
	for i, v := range r {
		w := 1.0
		if p.Weights != nil {
			if w = math.Sqrt(p.Weights[g][i]); w <= 0 {
				continue
			}
		}
		at := i
		for _, d := range j[i*cols : (i+1)*cols] {
			work[at] = w * d
			at += rows
		}
		work[at] = w * v
	}
	for k, prior := range p.LocalPrior {
		if prior.SD > 0 {
			work[k*rows+len(r)+k] = 1 / prior.SD
			work[cols*rows+len(r)+k] = prior.residual(f.b[p.local(g)+k])
		}
	}
	return rows
}

// finite reports whether every entry of the factor is.
func (a *arrow) finite() bool {
	sum := 0.0
	for _, v := range a.top {
		sum += math.Abs(v)
	}
	for _, v := range a.tri.r {
		sum += math.Abs(v)
	}
	return finite(sum)
}

// evaluated returns the residuals of every group at b, where nothing was linearised yet,
// and keeps the Jacobian that the first step needs where there is room for it.
func (f *fitter) evaluated() [][]float64 {
	f.eachGroup(f.look, func(*lane, int) {})
	f.kept = f.jac != nil
	return f.res
}

// place returns a copy of b by kind.
func (f *fitter) place() Start {
	s := Start{Shared: slices.Clone(f.b[:f.p.Shared])}
	for g := range f.p.Groups {
		local, _ := f.split(f.b, g)
		s.Local = append(s.Local, slices.Clone(local))
	}
	return s
}

package lsq

import (
	"math"
	"slices"
)

// CheckJacobian compares the Jacobian of Eval at s with central differences
// and returns the worst difference relative to the largest entry of its column
// in its group: below about 1e-7 for exact derivatives of a smooth model, NaN
// or Inf where the model has no value at s or beside it.
func CheckJacobian(p Problem, s Start) float64 {
	p.check(s)
	worst := 0.0
	for g := range p.Groups {
		var local []float64
		if p.Local > 0 {
			local = slices.Clone(s.Local[g])
		}
		worst = math.Max(worst, p.checkGroup(g, local, slices.Clone(s.Shared)))
	}
	return worst
}

// checkGroup is CheckJacobian for one group; it moves and restores the parameters.
func (p *Problem) checkGroup(g int, local, shared []float64) float64 {
	m, cols := p.Groups[g], p.Local+p.Shared
	r, j := make([]float64, m), make([]float64, m*cols)
	p.Eval(g, local, shared, r, j)
	worst := 0.0
	for c := range cols {
		v := parameter(local, shared, c)
		slope := centralDifference(v, m, func(r []float64) { p.Eval(g, local, shared, r, nil) })
		worst = math.Max(worst, columnDifference(j[c:], slope, cols))
	}
	return worst
}

// parameter is the one of column c of a Jacobian.
func parameter(local, shared []float64, c int) *float64 {
	if c < len(local) {
		return &local[c]
	}
	return &shared[c-len(local)]
}

// centralDifference is dr/dv by a step of the cube root of epsilon, where
// truncation and rounding are about equal.
func centralDifference(v *float64, m int, eval func(r []float64)) []float64 {
	at := *v
	defer func() { *v = at }()
	step := math.Cbrt(epsilon)
	if math.Abs(at) > 0 {
		step *= math.Abs(at)
	}
	hi, lo := make([]float64, m), make([]float64, m)
	up, down := at+step, at-step
	*v = up
	eval(hi)
	*v = down
	eval(lo)
	for i := range hi {
		hi[i] = (hi[i] - lo[i]) / (up - down)
	}
	return hi
}

// columnDifference is the largest |a-b| over the largest |a| or |b|, for a
// column a of a row-major matrix.
func columnDifference(a, b []float64, stride int) float64 {
	worst, size := 0.0, 0.0
	for i, v := range b {
		e := a[i*stride]
		worst = math.Max(worst, math.Abs(e-v))
		size = math.Max(size, math.Max(math.Abs(e), math.Abs(v)))
	}
	if size <= 0 {
		return 0
	}
	return worst / size
}

package lsq

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// arrow is the triangular factor of a linearised grouped problem. Ordered by
// local parameters of group 0, 1, ..., then shared ones, the Jacobian looks
// like an arrowhead, and so does its factor:
//
//	| R0          S0 | q0        each Rg local × local, Sg local × shared
//	|    R1       S1 | q1
//	|       ...   .. | ..
//	|             R  | q         shared × shared
//
// Only these blocks are made and kept: per group the local columns are
// eliminated by reflections, and what is left of its rows goes into the shared
// triangle. Björck, Numerical Methods for Least Squares Problems, 6.3 (block
// angular problems), from memory.
type arrow struct {
	shared, local, groups int
	top                   []float64 // per group, local rows of [Rg Sg qg], row-major
	tri                   triangle  // [R q]
}

func newArrow(p *Problem) arrow {
	cols := p.Local + p.Shared + 1
	return arrow{
		shared: p.Shared, local: p.Local, groups: len(p.Groups),
		top: make([]float64, len(p.Groups)*p.Local*cols),
		tri: newTriangle(p.Shared + 1),
	}
}

// cols is the length of a top row: local, shared, right-hand side.
func (a *arrow) cols() int { return a.local + a.shared + 1 }

// row returns top row i of group g.
func (a *arrow) row(g, i int) []float64 {
	c := a.cols()
	at := (g*a.local + i) * c
	return a.top[at : at+c : at+c]
}

// take eliminates the local columns of a group's rows, given column-major in
// work, keeps the top and hands the rest to the shared triangle.
func (a *arrow) take(g int, work []float64, stride, rows int) {
	a.part(g, work, stride, rows)
	a.share(work, stride, rows)
}

// part is the half of take that touches nothing but group g.
func (a *arrow) part(g int, work []float64, stride, rows int) {
	c := a.cols()
	eliminate(work, stride, rows, c, a.local)
	for i := range a.local {
		row := a.row(g, i)
		for j := range row {
			if j < i || i >= rows {
				row[j] = 0
				continue
			}
			row[j] = work[j*stride+i]
		}
	}
}

// share hands what part left to the shared triangle.
func (a *arrow) share(work []float64, stride, rows int) {
	a.tri.push(work[a.local*stride:], stride, min(a.local, rows), rows)
}

// gradient writes Jᵀr = Rᵀq into grad, and the norm of each column of J into
// norm (both flat: shared, then group after group).
func (a *arrow) gradient(grad, norm []float64) {
	clear(grad)
	clear(norm)
	l, s := a.local, a.shared
	for g := range a.groups {
		at := s + g*l
		for i := range l {
			row := a.row(g, i)
			q := row[l+s]
			accumulate(grad[at+i:at+l], norm[at+i:at+l], row[i:l], q)
			accumulate(grad[:s], norm[:s], row[l:l+s], q)
		}
	}
	for i := range s {
		row := a.tri.row(i)
		accumulate(grad[i:s], norm[i:s], row[i:s], row[s])
	}
	for i, v := range norm {
		norm[i] = math.Sqrt(v)
	}
}

func accumulate(grad, square, row []float64, q float64) {
	for j, v := range row {
		grad[j] += q * v
		square[j] += v * v
	}
}

// damp makes dst the factor of a with the rows diag(d) below it and the fixed
// columns taken out. A fixed column keeps a unit on its diagonal, so that its
// step comes out as zero. work is scratch of 2·local rows of all columns.
func (a *arrow) damp(dst *arrow, d []float64, fixed []bool, work []float64) {
	s := a.shared
	copy(dst.tri.r, a.tri.r)
	dst.tri.rows = 0
	for j := range s {
		if fixed[j] {
			for i := range j + 1 {
				dst.tri.r[i*(s+1)+j] = 0
			}
		}
	}
	for g := range a.groups {
		if a.local > 0 {
			a.dampGroup(dst, g, d, fixed, work)
		}
	}
	for j := range s {
		if v := damping(d[j], fixed[j]); v > 0 {
			dst.tri.pushUnit(j, v, 0)
		}
	}
	dst.tri.absorb()
}

func damping(d float64, fixed bool) float64 {
	if fixed {
		return 1
	}
	return d
}

func (a *arrow) dampGroup(dst *arrow, g int, d []float64, fixed []bool, work []float64) {
	l, s, c := a.local, a.shared, a.cols()
	stride := 2 * l
	clear(work[:stride*c])
	for i := range l {
		for j, v := range a.row(g, i) {
			work[j*stride+i] = v
		}
	}
	for j := range c - 1 {
		at := j - l
		if j < l {
			at = s + g*l + j
			work[j*stride+l+j] = damping(d[at], fixed[at])
		}
		if fixed[at] {
			clear(work[j*stride : j*stride+l])
		}
	}
	dst.take(g, work, stride, 2*l)
}

// solve writes the step δ = -R⁻¹q. Fixed parameters get none, nor do those
// whose column is zero.
func (a *arrow) solve(delta []float64, fixed []bool) {
	l, s := a.local, a.shared
	ds := delta[:s]
	for i := s - 1; i >= 0; i-- {
		row := a.tri.row(i)
		ds[i] = quotient(-row[s]-floats.Dot(row[i+1:s], ds[i+1:]), row[i], fixed[i])
	}
	for g := range a.groups {
		at := s + g*l
		dl := delta[at : at+l]
		for i := l - 1; i >= 0; i-- {
			row := a.row(g, i)
			v := -row[l+s] - floats.Dot(row[i+1:l], dl[i+1:]) - floats.Dot(row[l:l+s], ds)
			dl[i] = quotient(v, row[i], fixed[at+i])
		}
	}
}

func quotient(v, d float64, fixed bool) float64 {
	if fixed || math.Abs(d) <= 0 {
		return 0
	}
	return v / d
}

// gain returns the fall of the linearised sum of squares over the step delta,
// ‖q‖² - ‖Rδ+q‖², summed row by row so that nothing cancels.
func (a *arrow) gain(delta []float64) float64 {
	l, s := a.local, a.shared
	ds := delta[:s]
	sum := 0.0
	for g := range a.groups {
		dl := delta[s+g*l : s+g*l+l]
		for i := range l {
			row := a.row(g, i)
			t := floats.Dot(row[i:l], dl[i:]) + floats.Dot(row[l:l+s], ds)
			sum -= t * (t + 2*row[l+s])
		}
	}
	for i := range s {
		row := a.tri.row(i)
		t := floats.Dot(row[i:s], ds[i:])
		sum -= t * (t + 2*row[s])
	}
	return sum
}

// promise returns ‖q‖², what a full undamped step would take off the
// linearised sum of squares.
func (a *arrow) promise() float64 {
	sum := 0.0
	for g := range a.groups {
		for i := range a.local {
			q := a.row(g, i)[a.local+a.shared]
			sum += q * q
		}
	}
	for i := range a.shared {
		q := a.tri.row(i)[a.shared]
		sum += q * q
	}
	return sum
}

// rank returns a RankError for the first free parameter whose diagonal is
// nothing but rounding of its column, whose norm is given.
func (a *arrow) rank(norm []float64, fixed []bool, tol float64) error {
	for g := range a.groups {
		for i := range a.local {
			at := a.shared + g*a.local + i
			if !fixed[at] && !(math.Abs(a.row(g, i)[i]) > tol*norm[at]) {
				return &RankError{Column: i, Group: g}
			}
		}
	}
	for i := range a.shared {
		if !fixed[i] && !(math.Abs(a.tri.row(i)[i]) > tol*norm[i]) {
			return &RankError{Column: i, Group: -1}
		}
	}
	return nil
}

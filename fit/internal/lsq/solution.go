package lsq

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// Solution is a converged nonlinear fit.
type Solution struct {
	Shared    []float64
	Local     [][]float64
	Residuals [][]float64 // per group, as Eval gives them, not weighted

	RSS        float64 // weighted sum of squared residuals plus those of the priors
	N          int     // residuals of weight above zero plus priors
	DoF        int     // N minus the parameters that are not held at a bound
	Iterations int

	factor arrow
	fixed  []bool
	spread float64 // set by Robust: see reweightedScale
}

// solution copies the end of a fit out of the fitter, whose factor it takes over.
func (f *fitter) solution() Solution {
	at := f.place()
	s := Solution{
		Shared: at.Shared, Local: at.Local, Residuals: f.res,
		RSS: f.sum, N: f.data + f.p.priors(), Iterations: f.iterations,
		factor: f.damped, fixed: f.fixed,
	}
	s.DoF = s.N - f.p.params()
	for _, held := range f.fixed {
		if held {
			s.DoF++
		}
	}
	return s
}

// Scale is the standard deviation of a standardised residual: about 1 when the
// uncertainties given are right. It is 0 when DoF is 0.
func (s *Solution) Scale() float64 {
	if s.spread > 0 {
		return s.spread
	}
	if s.DoF <= 0 {
		return 0
	}
	return math.Sqrt(s.RSS / float64(s.DoF))
}

// Forecast returns the Solution as it would be if a fit ended at s: its Variance
// says how well readings that are only planned would determine the parameters.
// Residuals are those of Eval at s, which a plan may leave at zero. Errors are
// ErrNotFinite and RankError, where the readings would not do.
func Forecast(p Problem, s Start) (Solution, error) {
	p.check(s)
	f := newFitter(&p, s, Options{})
	if err := f.begin(); err != nil {
		return Solution{}, err
	}
	if err := f.factor(); err != nil {
		return Solution{}, err
	}
	return f.solution(), nil
}

// Held reports whether shared parameter i ended at a bound; it then counts as
// known, with no variance.
func (s *Solution) Held(i int) bool { return s.fixed[i] }

// HeldLocal is Held for local parameter i of group g.
func (s *Solution) HeldLocal(g, i int) bool { return s.fixed[s.factor.shared+g*s.factor.local+i] }

// Locals is how a quantity moves with the local parameters of some groups.
type Locals struct {
	Groups []int     // each once
	Slopes []float64 // over the local parameters of one group after the other
}

// of gives the slopes of the group at place k, for so many local parameters.
func (l Locals) of(k, local int) []float64 { return l.Slopes[k*local : (k+1)*local] }

// few is for how many parameters no memory is asked from the heap: a variance is worked
// out for every reading of an archive, and garbage would be two thirds of its time. The
// vectors are too short for kernels, which would also make them escape.
const few = 32

func sumSquares(x []float64) (sum float64) {
	for _, v := range x {
		sum += v * v
	}
	return sum
}

// takeOff takes by times x off what.
func takeOff(what []float64, by float64, x []float64) {
	for i, v := range x {
		what[i] -= by * v
	}
}

// Variance returns g'Cg for the gradient g of some quantity over the shared
// parameters (nil for none) and the local ones of some groups, with
// C the unscaled covariance (JᵀWJ + priors)⁻¹. Where residuals are divided by
// true standard uncertainties this is the variance of the quantity; otherwise
// multiply by Scale².
func (s *Solution) Variance(shared []float64, local Locals) float64 {
	rest := append(make([]float64, 0, few), make([]float64, s.factor.shared)...)
	copy(rest, shared)
	z := make([]float64, 0, few)
	sum := 0.0
	for k, g := range local.Groups {
		z = append(z[:0], local.of(k, s.factor.local)...)
		s.factor.forwardLocal(g, z, rest, s.fixed)
		sum += sumSquares(z)
	}
	s.factor.forwardShared(rest, s.fixed)
	return sum + sumSquares(rest)
}

// forwardLocal solves Rgᵀz = z in place and takes Sgᵀz off rest.
func (a *arrow) forwardLocal(g int, z, rest []float64, fixed []bool) {
	for i := range z {
		row := a.row(g, i)
		z[i] = quotient(z[i], row[i], fixed[a.shared+g*a.local+i])
		takeOff(z[i+1:], z[i], row[i+1:a.local])
		takeOff(rest, z[i], row[a.local:a.local+a.shared])
	}
}

// forwardShared solves Rᵀz = rest in place.
func (a *arrow) forwardShared(rest []float64, fixed []bool) {
	for i := range rest {
		row := a.tri.row(i)
		rest[i] = quotient(rest[i], row[i], fixed[i])
		takeOff(rest[i+1:], rest[i], row[i+1:a.shared])
	}
}

// SharedCovariance returns the unscaled covariance of the shared parameters.
func (s *Solution) SharedCovariance() *mat.SymDense {
	n := s.factor.shared
	if n == 0 {
		return &mat.SymDense{}
	}
	cov := mat.NewSymDense(n, nil)
	z := make([][]float64, n)
	for i := range n {
		z[i] = make([]float64, n)
		z[i][i] = 1
		s.factor.forwardShared(z[i], s.fixed)
		for j := range i + 1 {
			cov.SetSym(i, j, floats.Dot(z[i], z[j]))
		}
	}
	return cov
}

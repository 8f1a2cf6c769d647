package lsq

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// randomLinear draws a well-conditioned linear problem.
func randomLinear(t *rapid.T) (x *mat.Dense, y, w []float64) {
	rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
	p := rapid.IntRange(1, 6).Draw(t, "columns")
	n := p + rapid.IntRange(2, 20).Draw(t, "spare rows")
	x = mat.NewDense(n, p, nil)
	y, w = make([]float64, n), make([]float64, n)
	for i := range n {
		for j := range p {
			x.Set(i, j, rng.NormFloat64())
		}
		y[i] = rng.NormFloat64()
		w[i] = 0.1 + rng.Float64()
	}
	return x, y, w
}

func mustLinear(t *rapid.T, x *mat.Dense, y, w []float64) Fit {
	f, err := Linear(x, y, w)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func same(t *rapid.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Max(1, math.Abs(want))) {
		t.Fatalf("%s = %.15g, want %.15g", what, got, want)
	}
}

func TestLinearRowOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y, w := randomLinear(t)
		f := mustLinear(t, x, y, w)
		n, p := x.Dims()
		order := rapid.Permutation(indices(n)).Draw(t, "order")
		px := mat.NewDense(n, p, nil)
		py, pw := make([]float64, n), make([]float64, n)
		for i, k := range order {
			px.SetRow(i, x.RawRowView(k))
			py[i], pw[i] = y[k], w[k]
		}
		g := mustLinear(t, px, py, pw)
		for i := range p {
			same(t, "coefficient", g.Coef[i], f.Coef[i], 1e-9)
			same(t, "standard error", g.StdErr(i), f.StdErr(i), 1e-9)
		}
	})
}

func indices(n int) []int {
	v := make([]int, n)
	for i := range v {
		v[i] = i
	}
	return v
}

func TestLinearScaling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y, w := randomLinear(t)
		f := mustLinear(t, x, y, w)
		n, p := x.Dims()
		column := rapid.IntRange(0, p-1).Draw(t, "column")
		cx := math.Pow(10, rapid.Float64Range(-12, 12).Draw(t, "exponent of x"))
		cy := math.Pow(10, rapid.Float64Range(-12, 12).Draw(t, "exponent of y"))
		sx, sy := mat.DenseCopyOf(x), make([]float64, n)
		for i := range n {
			sx.Set(i, column, cx*x.At(i, column))
			sy[i] = cy * y[i]
		}
		g := mustLinear(t, sx, sy, w)
		for j := range p {
			c := 1 / cy
			if j == column {
				c *= cx
			}
			same(t, "coefficient", g.Coef[j]*c, f.Coef[j], 1e-9)
			same(t, "standard error", g.StdErr(j)*c, f.StdErr(j), 1e-9)
		}
		same(t, "R squared", g.RSquared, f.RSquared, 1e-9)
	})
}

// The residuals of a least-squares fit are orthogonal to every column.
func TestLinearOrthogonal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y, w := randomLinear(t)
		f := mustLinear(t, x, y, w)
		n, p := x.Dims()
		for j := range p {
			sum := 0.0
			for i := range n {
				sum += w[i] * f.Residuals[i] * x.At(i, j)
			}
			same(t, "product with residuals", sum, 0, 1e-10)
		}
	})
}

func TestLineIsLinear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		n := rapid.IntRange(3, 30).Draw(t, "points")
		offset := rapid.Float64Range(-100, 100).Draw(t, "offset")
		x, y, w := make([]float64, n), make([]float64, n), make([]float64, n)
		design := mat.NewDense(n, 2, nil)
		for i := range n {
			x[i], y[i], w[i] = offset+rng.NormFloat64(), rng.NormFloat64(), 0.1+rng.Float64()
			design.SetRow(i, []float64{1, x[i]})
		}
		f := mustLinear(t, design, y, w)
		g, err := Line(x, y, w)
		if err != nil {
			t.Fatal(err)
		}
		for i := range 2 {
			same(t, "coefficient", g.Coef[i], f.Coef[i], 1e-8)
			same(t, "standard error", g.StdErr(i), f.StdErr(i), 1e-8)
		}
		same(t, "covariance", g.Cov.At(0, 1), f.Cov.At(0, 1), 1e-8)
		same(t, "R squared", g.RSquared, f.RSquared, 1e-8)
	})
}

// dense is the same problem as p without groups: all local parameters become
// shared ones, in the flat order.
func dense(p Problem, s Start) (Problem, Start) {
	n := 0
	for _, m := range p.Groups {
		n += m
	}
	cols := p.Local + p.Shared
	d := Plain(n, p.params(), func(b, r, j []float64) {
		at := 0
		for g, m := range p.Groups {
			var sub []float64
			if j != nil {
				sub = make([]float64, m*cols)
			}
			first := p.local(g)
			p.Eval(g, b[first:first+p.Local], b[:p.Shared], r[at:at+m], sub)
			for i := range m {
				if j == nil {
					break
				}
				row := j[(at+i)*p.params() : (at+i+1)*p.params()]
				copy(row[first:], sub[i*cols:i*cols+p.Local])
				copy(row, sub[i*cols+p.Local:(i+1)*cols])
			}
			at += m
		}
	})
	d.SharedMin = p.spreadOut(p.SharedMin, p.LocalMin, math.Inf(-1))
	d.SharedMax = p.spreadOut(p.SharedMax, p.LocalMax, math.Inf(1))
	d.SharedPrior = make([]Prior, p.params())
	copy(d.SharedPrior, p.SharedPrior)
	for g := range p.Groups {
		copy(d.SharedPrior[p.local(g):], p.LocalPrior)
	}
	if p.Weights != nil {
		d.Weights = make([][]float64, 1)
		for _, w := range p.Weights {
			d.Weights[0] = append(d.Weights[0], w...)
		}
	}
	return d, Start{Shared: p.flat(s)}
}

// decorate adds weights, priors and bounds at random.
func decorate(t *rapid.T, p *Problem, truth Start) {
	rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "decoration"), 2))
	if rapid.Bool().Draw(t, "weights") {
		for _, m := range p.Groups {
			w := make([]float64, m)
			for i := range w {
				w[i] = math.Max(0, rng.Float64()*1.1-0.1)
			}
			p.Weights = append(p.Weights, w)
		}
	}
	if rapid.Bool().Draw(t, "priors") {
		p.LocalPrior = []Prior{{1, 0.05}, {}}
		p.SharedPrior = make([]Prior, p.Shared)
		p.SharedPrior[0] = Prior{0.6, 0.1}
	}
	if rapid.Bool().Draw(t, "bounds") {
		p.LocalMin, p.LocalMax = []float64{0.95, math.Inf(-1)}, []float64{1.05, 0.05}
		p.SharedMin = make([]float64, p.Shared)
		for i, v := range truth.Shared {
			p.SharedMin[i] = v - 0.1
		}
		p.SharedMin[0] = truth.Shared[0] + 0.01
	}
}

func TestGroupedIsDense(t *testing.T) {
	held := 0
	rapid.Check(t, func(t *rapid.T) {
		groups := rapid.IntRange(1, 6).Draw(t, "groups")
		each := rapid.IntRange(15, 40).Draw(t, "residuals in each")
		shared := 2 * rapid.IntRange(1, 3).Draw(t, "bumps")
		p, truth, start := bumps(groups, each, shared, 0.01, rapid.Uint64().Draw(t, "seed"))
		decorate(t, &p, truth)
		d, ds := dense(p, start)
		o := Options{Tolerance: 1e-9}
		a, err := Levenberg(p, start, o)
		b, errDense := Levenberg(d, ds, o)
		if err != nil || errDense != nil {
			if (err == nil) != (errDense == nil) {
				t.Fatalf("grouped: %v, dense: %v", err, errDense)
			}
			t.Skip("not fitted")
		}
		same(t, "RSS", a.RSS, b.RSS, 1e-9)
		if a.N != b.N || a.DoF != b.DoF {
			t.Fatalf("N %d, DoF %d, want %d, %d", a.N, a.DoF, b.N, b.DoF)
		}
		held += a.DoF - a.N + p.params()
		for i, v := range b.Shared[:shared] {
			same(t, "shared parameter", a.Shared[i], v, 1e-9)
		}
		gradient := make([]float64, p.params())
		var local Locals
		for g := range groups {
			at := p.local(g)
			for i, v := range a.Local[g] {
				same(t, "local parameter", v, b.Shared[at+i], 1e-9)
			}
			if g%2 == 0 {
				own := []float64{1, float64(g) - 1.5}
				local.Groups, local.Slopes = append(local.Groups, g), append(local.Slopes, own...)
				copy(gradient[at:], own)
			}
		}
		for i := range shared {
			gradient[i] = math.Sin(float64(i))
		}
		v := b.Variance(gradient, Locals{})
		same(t, "variance ratio", a.Variance(gradient[:shared], local)/v, 1, 1e-9)
	})
	if held == 0 {
		t.Error("no parameter was ever held at a bound")
	}
}

// A fit within bounds satisfies the conditions of Karush, Kuhn and Tucker: no
// slope along free parameters, and one that presses outward along held ones.
func TestBoundsAreOptimal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y, _ := randomLinear(t)
		_, p := x.Dims()
		pr := linearProblem(x, y)
		pr.SharedMin, pr.SharedMax = make([]float64, p), make([]float64, p)
		start := make([]float64, p)
		for j := range p {
			pr.SharedMin[j] = rapid.Float64Range(-0.5, 0.2).Draw(t, "min")
			pr.SharedMax[j] = pr.SharedMin[j] + rapid.Float64Range(0.1, 0.5).Draw(t, "width")
			start[j] = rapid.Float64Range(-1, 1).Draw(t, "start")
		}
		s, err := Levenberg(pr, Start{Shared: start}, Options{Tolerance: 1e-10})
		if err != nil {
			t.Fatal(err)
		}
		for j, b := range s.Shared {
			slope := mat.Dot(x.ColView(j), mat.NewVecDense(len(y), s.Residuals[0]))
			switch {
			case b < pr.SharedMin[j] || b > pr.SharedMax[j]:
				t.Fatalf("parameter %d = %v is out of bounds", j, b)
			case !s.Held(j):
				same(t, "slope of a free parameter", slope, 0, 1e-5)
			case b <= pr.SharedMin[j] && slope < 0, b >= pr.SharedMax[j] && slope > 0:
				t.Fatalf("parameter %d is held at %v with the slope %v", j, b, slope)
			}
			if unit := make([]float64, p); s.Held(j) {
				unit[j] = 1
				same(t, "variance of a held parameter", s.Variance(unit, Locals{}), 0, 0)
			}
		}
	})
}

// A linear problem solved as a nonlinear one is the linear fit, with its covariance.
func TestLevenbergIsLinear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y, w := randomLinear(t)
		f := mustLinear(t, x, y, w)
		p := linearProblem(x, y)
		p.Weights = [][]float64{w}
		s, err := Levenberg(p, Start{Shared: make([]float64, len(f.Coef))}, Options{Tolerance: 1e-10})
		if err != nil {
			t.Fatal(err)
		}
		cov := s.SharedCovariance()
		for i, c := range f.Coef {
			same(t, "coefficient", s.Shared[i], c, 1e-7)
			for j := range f.Coef {
				same(t, "covariance", cov.At(i, j), f.Unscaled.At(i, j), 1e-9)
			}
		}
		same(t, "scatter", s.Scale(), f.Sigma, 1e-9)
	})
}

func TestIsotonicProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y := rapid.SliceOfN(rapid.Float64Range(-10, 10), 1, 40).Draw(t, "y")
		w := rapid.SliceOfN(rapid.Float64Range(0.1, 10), len(y), len(y)).Draw(t, "w")
		fit := Isotonic(y, w)
		sum, again := 0.0, Isotonic(fit, w)
		for i, v := range fit {
			if i > 0 && v < fit[i-1] {
				t.Fatalf("value %d falls from %v to %v", i+1, fit[i-1], v)
			}
			sum += w[i] * (y[i] - v)
			same(t, "value of a second pass", again[i], v, 1e-12)
		}
		same(t, "weighted sum of residuals", sum, 0, 1e-9)
	})
}

func TestIsotonicWithoutWeight(t *testing.T) {
	for i, v := range Isotonic([]float64{5, 4, 1, 2}, []float64{0, 0, 1, 1}) {
		near(t, "value", v, []float64{1, 1, 1, 2}[i], 1e-12)
	}
}

func TestRankErrors(t *testing.T) {
	x := mat.NewDense(5, 3, []float64{1, 2, 4, 1, 3, 5, 1, 5, 7, 1, 7, 9, 1, 8, 10}) // column 3 = 2·column 1 + column 2
	y := []float64{1, 2, 3, 4, 5}
	_, err := Linear(x, y, nil)
	rank, ok := errors.AsType[*RankError](err)
	if !ok || !errors.Is(err, ErrRank) || rank.Column != 2 {
		t.Errorf("Linear: %v, want the third column", err)
	}
	_, err = Levenberg(linearProblem(x, y), Start{Shared: []float64{0, 0, 0}}, Options{})
	if !errors.Is(err, ErrRank) {
		t.Errorf("Levenberg: %v, want a rank error", err)
	}
	for _, v := range []float64{0.1, 1e9, -3, 0} {
		same := []float64{v, v, v, v, v}
		if _, err := Line(same, y, nil); !errors.Is(err, ErrRank) {
			t.Errorf("Line with all x at %v: %v, want a rank error", v, err)
		}
	}
}

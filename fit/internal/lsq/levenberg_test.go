package lsq

import (
	"errors"
	"math"
	"runtime"
	"testing"
)

func TestCheckJacobian(t *testing.T) {
	p, truth, _ := bumps(3, 30, 6, 0.01, 1)
	if e := CheckJacobian(p, truth); !(e < 1e-6) {
		t.Errorf("exact derivatives: %.1e", e)
	}
	wrong := p
	wrong.Eval = func(g int, local, shared, r, j []float64) {
		p.Eval(g, local, shared, r, j)
		if j != nil && g == 1 {
			j[3] *= 1.01
		}
	}
	if e := CheckJacobian(wrong, truth); !(e > 1e-4) {
		t.Errorf("a derivative that is 1 %% off: %.1e", e)
	}
	for name, f := range nistCurves {
		want, data := readCertified(t)[name], readData(t, name)
		p := fitted(f, len(want.coef), data[0], data[1])
		if e := CheckJacobian(p, Start{Shared: want.coef}); !(e < 1e-6) {
			t.Errorf("%s: %.1e", name, e)
		}
	}
}

// Steps use the buffers made at the start; what remains is two small closures.
func TestStepsMakeNoBuffers(t *testing.T) {
	p, _, start := bumps(8, 50, 8, 0.01, 3)
	p.SharedMin = []float64{1, 0, 0, 0, 0, 0, 0, 0} // held
	f := newFitter(&p, start, Options{}.withDefaults())
	if err := f.begin(); err != nil {
		t.Fatal(err)
	}
	allocs := testing.AllocsPerRun(3, func() {
		f.offset()
		f.advance(1e-3, 2)
		if err := f.linearise(); err != nil {
			t.Fatal(err)
		}
		f.aim()
	})
	if allocs > 2 {
		t.Errorf("%v allocations a round", allocs)
	}
}

// TestUnkeptJacobian: with too many readings to keep the Jacobian it is made anew, to the
// same bits.
func TestUnkeptJacobian(t *testing.T) {
	p, _, start := bumps(laneRows/40+3, 40, 6, 0.01, 4)
	o := Options{}.withDefaults()
	kept := newFitter(&p, start, o)
	anew := newFitter(&p, start, o)
	anew.jac, anew.next, anew.lanes = nil, nil, newLanes(&p, true)
	a, errA := kept.fit()
	b, errB := anew.fit()
	if errA != nil || errB != nil {
		t.Fatal(errA, errB)
	}
	if kept.jac == nil {
		t.Error("the Jacobian was not kept")
	}
	for i, v := range a.Shared {
		if math.Float64bits(b.Shared[i]) != math.Float64bits(v) {
			t.Errorf("parameter %d: %v kept, %v anew", i, v, b.Shared[i])
		}
	}
	if math.Float64bits(a.RSS) != math.Float64bits(b.RSS) {
		t.Errorf("sum of squares %v kept, %v anew", a.RSS, b.RSS)
	}
}

// TestSameBitsEveryTime on one core and on several, in blocks of groups and in part of one.
func TestSameBitsEveryTime(t *testing.T) {
	p, _, start := bumps(2*laneRows/40+3, 40, 6, 0.01, 4)
	first, err := Levenberg(p, start, Options{})
	if err != nil {
		t.Fatal(err)
	}
	local := Locals{[]int{0, 1, 2, 4, 5}, []float64{1, 2, 3, 1, 0, 1, 1, 1, 2, 2}}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for round := range 20 {
		runtime.GOMAXPROCS(1 + round%4)
		again, err := Levenberg(p, start, Options{})
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range first.Shared {
			if math.Float64bits(again.Shared[i]) != math.Float64bits(v) {
				t.Fatalf("parameter %d: %v, then %v", i, v, again.Shared[i])
			}
		}
		a, b := first.Variance(first.Shared, local), again.Variance(first.Shared, local)
		if math.Float64bits(a) != math.Float64bits(b) {
			t.Fatalf("variance %v, then %v", a, b)
		}
	}
}

// logarithm has no value for b ≤ 0; its first full step from 0.1 leads there.
func logarithm(want float64) Problem {
	return Plain(3, 1, func(b, r, j []float64) {
		for i := range r {
			r[i] = math.Log(b[0]) - want
			if j != nil {
				j[i] = 1 / b[0]
			}
		}
	})
}

func TestStepsOutOfTheDomainAreTurnedBack(t *testing.T) {
	s, err := Levenberg(logarithm(2), Start{Shared: []float64{500}}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "parameter", s.Shared[0], math.Exp(2), 1e-6)
	if _, err := Levenberg(logarithm(2), Start{Shared: []float64{-1}}, Options{}); !errors.Is(err, ErrNotFinite) {
		t.Errorf("a start without a value: %v", err)
	}
}

// No minimum: the residual falls for ever as b grows.
func TestNoMinimumIsNotConverged(t *testing.T) {
	p := Plain(2, 1, func(b, r, j []float64) {
		for i := range r {
			r[i] = math.Exp(-b[0]) + 1
			if j != nil {
				j[i] = -math.Exp(-b[0])
			}
		}
	})
	s, err := Levenberg(p, Start{Shared: []float64{0}}, Options{})
	if !errors.Is(err, ErrNotConverged) {
		t.Errorf("got %v with the error %v", s.Shared, err)
	}
}

func TestTooFewIterations(t *testing.T) {
	data, want := readData(t, "MGH09"), readCertified(t)["MGH09"]
	p := fitted(nistCurves["MGH09"], 4, data[0], data[1])
	_, err := Levenberg(p, Start{Shared: want.starts[0]}, Options{MaxIterations: 3})
	if !errors.Is(err, ErrNotConverged) {
		t.Errorf("got the error %v", err)
	}
}

func TestExactData(t *testing.T) {
	p, truth, start := bumps(3, 30, 4, 1e-300, 5)
	s, err := Levenberg(withUnitNoise(p, 1e-300), start, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, v := range truth.Shared {
		near(t, "parameter", s.Shared[i], v, 1e-9)
	}
	for _, start := range []float64{3, 3.0000001} { // a start at the solution, and by it
		s, err := Levenberg(logarithm(math.Log(3)), Start{Shared: []float64{start}}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "parameter", s.Shared[0], 3, 1e-9)
	}
}

// withUnitNoise undoes the division of residuals by the noise.
func withUnitNoise(p Problem, noise float64) Problem {
	eval := p.Eval
	p.Eval = func(g int, local, shared, r, j []float64) {
		eval(g, local, shared, r, j)
		for i := range r {
			r[i] *= noise
		}
		for i := range j {
			j[i] *= noise
		}
	}
	return p
}

// Without data to speak of a prior is what remains: the mean of two beliefs
// weighted by 1/SD², with the variance 1/Σ(1/SD²).
func TestPriorsAreCombined(t *testing.T) {
	p := Plain(1, 2, func(b, r, j []float64) {
		r[0] = (b[0] - 10) / 2
		if j != nil {
			j[0] = 0.5
		}
	})
	p.SharedPrior = []Prior{{4, 1}, {7, 3}}
	s, err := Levenberg(p, Start{Shared: []float64{0, 0}}, Options{Tolerance: 1e-10})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean of reading and belief", s.Shared[0], (10.0/4+4)/(1.0/4+1), 1e-9)
	near(t, "its variance", s.Variance([]float64{1, 0}, Locals{}), 1/(1.0/4+1), 1e-12)
	near(t, "belief alone", s.Shared[1], 7, 1e-9)
	near(t, "its variance", s.Variance([]float64{0, 1}, Locals{}), 9, 1e-12)
	near(t, "unknowns determined by the reading", s.determined(&p), 1-1/(1.0/4+1), 1e-12)
}

func TestLocalOnlyAndTooFew(t *testing.T) {
	p := Problem{Local: 1, Groups: []int{2, 3}, Eval: func(g int, local, _, r, j []float64) {
		for i := range r {
			r[i] = local[0] - float64(10*g+i)
			if j != nil {
				j[i] = 1
			}
		}
	}}
	start := Start{Local: [][]float64{{0}, {0}}}
	s, err := Levenberg(p, start, Options{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean of group 1", s.Local[0][0], 0.5, 1e-9)
	near(t, "mean of group 2", s.Local[1][0], 11, 1e-9)
	near(t, "variance of group 2", s.Variance(nil, Locals{[]int{1}, []float64{1}}), 1.0/3, 1e-12)
	if !s.SharedCovariance().IsEmpty() {
		t.Error("no shared parameters, yet they have a covariance")
	}
	p.Groups = []int{1, 0}
	if _, err := Levenberg(p, start, Options{}); !errors.Is(err, ErrTooFew) {
		t.Errorf("1 residual, 2 unknowns: %v", err)
	}
	p.Groups = []int{2, 0}
	rank, ok := errors.AsType[*RankError](second(Levenberg(p, start, Options{})))
	if !ok || rank.Group != 1 {
		t.Errorf("a group without residuals: %v", rank)
	}
}

func second(_ Solution, err error) error { return err }

// A forecast at the solution has the covariance of the fit.
func TestForecast(t *testing.T) {
	p, _, start := bumps(3, 30, 4, 0.01, 6)
	s, err := Levenberg(p, start, Options{})
	if err != nil {
		t.Fatal(err)
	}
	f, err := Forecast(p, Start{Shared: s.Shared, Local: s.Local})
	if err != nil {
		t.Fatal(err)
	}
	g := []float64{1, 2, 3, 4}
	near(t, "variance ratio", f.Variance(g, Locals{})/s.Variance(g, Locals{}), 1, 1e-9)
	p, _, start = bumps(3, 1, 4, 0.01, 6)
	if _, err := Forecast(p, start); !errors.Is(err, ErrRank) {
		t.Errorf("three readings for ten unknowns: %v", err)
	}
}

func TestWrongLengthsPanic(t *testing.T) {
	p, _, start := bumps(2, 10, 2, 0.01, 1)
	for name, spoil := range map[string]func(p *Problem, s *Start){
		"shared start": func(_ *Problem, s *Start) { s.Shared = s.Shared[1:] },
		"local start":  func(_ *Problem, s *Start) { s.Local = s.Local[1:] },
		"one local":    func(_ *Problem, s *Start) { s.Local = [][]float64{{1, 0}, {1}} },
		"bounds":       func(p *Problem, _ *Start) { p.LocalMax = []float64{1} },
		"weights":      func(p *Problem, _ *Start) { p.Weights = [][]float64{{1}, {1}} },
	} {
		p, s := p, start
		spoil(&p, &s)
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s of wrong length: no panic", name)
				}
			}()
			_, _ = Levenberg(p, s, Options{})
		}()
	}
}

package lsq

import (
	"math"
	"math/rand/v2"
	"testing"
)

// spoil adds gross errors of 20 to 500 standard deviations to a share of the
// residuals and returns which.
func spoil(p Problem, share float64, seed uint64) (Problem, [][]bool) {
	rng := rand.New(rand.NewPCG(seed, 9))
	gross := make([][]bool, len(p.Groups))
	shift := make([][]float64, len(p.Groups))
	for g, m := range p.Groups {
		gross[g], shift[g] = make([]bool, m), make([]float64, m)
		for i := range m {
			if gross[g][i] = rng.Float64() < share; gross[g][i] {
				shift[g][i] = math.Copysign(20+480*rng.Float64(), rng.Float64()-0.35)
			}
		}
	}
	eval := p.Eval
	p.Eval = func(g int, local, shared, r, j []float64) {
		eval(g, local, shared, r, j)
		for i, v := range shift[g] {
			r[i] -= v
		}
	}
	return p, gross
}

func TestRobustAgainstGrossErrors(t *testing.T) {
	for seed := range uint64(20) {
		p, truth, start := bumps(6, 60, 6, 0.01, seed)
		p.SharedMin, p.SharedMax = []float64{.2, .2, .2, .2, .2, .2}, []float64{1, 1, 1, 1, 1, 1}
		p, gross := spoil(p, 0.3, seed)
		s, weights, err := Robust(p, start, RobustOptions{})
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range truth.Shared {
			unit := make([]float64, len(truth.Shared))
			unit[i] = 1
			u := s.Scale() * math.Sqrt(s.Variance(unit, Locals{}))
			if d := math.Abs(s.Shared[i]-v) / u; d > 4.5 {
				t.Errorf("seed %d: parameter %d is %.1f standard uncertainties off", seed, i, d)
			}
		}
		for g := range weights {
			for i, w := range weights[g] {
				if gross[g][i] && w > 0 {
					t.Errorf("seed %d: gross error %d of group %d has the weight %.2f", seed, i, g, w)
				}
			}
		}
	}
}

// Clean data must hardly be touched, and a reading that was given no weight
// must not come back.
func TestRobustOnCleanData(t *testing.T) {
	p, _, start := bumps(6, 60, 6, 0.01, 8)
	plain, err := Levenberg(p, start, Options{})
	if err != nil {
		t.Fatal(err)
	}
	p.Weights = make([][]float64, len(p.Groups))
	for g, m := range p.Groups {
		p.Weights[g] = make([]float64, m)
		for i := range m {
			p.Weights[g][i] = 1
		}
	}
	p.Weights[2][7] = 0
	s, weights, err := Robust(p, start, RobustOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if weights[2][7] > 0 {
		t.Errorf("a reading without weight got %v", weights[2][7])
	}
	near(t, "scale", s.Scale()/plain.Scale(), 1, 0.1)
	for i, v := range plain.Shared {
		unit := make([]float64, len(plain.Shared))
		unit[i] = 1
		if d := math.Abs(s.Shared[i]-v) / math.Sqrt(plain.Variance(unit, Locals{})); d > 1 {
			t.Errorf("parameter %d moved by %.2f standard uncertainties", i, d)
		}
	}
}

// The standard uncertainty claimed after reweighting is what simulation finds.
func TestRobustUncertaintyIsHonest(t *testing.T) {
	for _, share := range []float64{0, 0.15} {
		const runs = 400
		sum := 0.0
		for seed := range uint64(runs) {
			rng := rand.New(rand.NewPCG(seed, 4))
			x, y := make([]float64, 40), make([]float64, 40)
			for i := range x {
				x[i] = float64(i)
				y[i] = 2 + 0.5*x[i] + rng.NormFloat64()
				if rng.Float64() < share {
					y[i] += 50
				}
			}
			a, b := RepeatedMedian(x, y)
			s, _, err := Robust(linearProblem(powers(x, 0, 1), y), Start{Shared: []float64{a, b}}, RobustOptions{FreeScale: true})
			if err != nil {
				t.Fatal(err)
			}
			d := (s.Shared[1] - 0.5) / (s.Scale() * math.Sqrt(s.Variance([]float64{0, 1}, Locals{})))
			sum += d * d
		}
		ratio := math.Sqrt(sum / runs)
		t.Logf("%2.0f %% gross errors: true over claimed uncertainty %.3f", 100*share, ratio)
		// 400 runs tell the ratio to about 3.5 %.
		near(t, "true over claimed uncertainty", ratio, 1, 0.12)
	}
}

func TestMAD(t *testing.T) {
	for _, c := range []struct {
		x             []float64
		center, scale float64
	}{
		{nil, 0, 0},
		{[]float64{5}, 5, 0},
		{[]float64{3, 1, 2}, 2, 1.482602218505602},
		{[]float64{1, 2, 3, 4, 1e9}, 3, 1.482602218505602},
	} {
		center, scale := MAD(c.x)
		near(t, "center", center, c.center, 1e-12)
		near(t, "scale", scale, c.scale, 1e-12)
	}
}

func TestResistantLines(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	for _, n := range []int{20, 5000} {
		x, y := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i] = float64(i) * 10 / float64(n)
			y[i] = 3*x[i] - 2.4 + 0.01*rng.NormFloat64()
			if i%10 < 4 {
				y[i] = 100 * rng.Float64()
			}
		}
		a, b := RepeatedMedian(x, y)
		near(t, "slope, 40 % gross errors", b, 3, 0.05)
		near(t, "intercept, 40 % gross errors", a, -2.4, 0.3)
		for i := range x {
			if i%10 >= 1 && i%10 < 4 {
				y[i] = 3*x[i] - 2.4
			}
		}
		a, b = TheilSen(x, y)
		near(t, "slope, 10 % gross errors", b, 3, 0.01)
		near(t, "intercept, 10 % gross errors", a, -2.4, 0.05)
	}
	for _, line := range []func(x, y []float64) (a, b float64){TheilSen, RepeatedMedian} {
		if a, b := line([]float64{1, 1}, []float64{2, 3}); math.Abs(a)+math.Abs(b) > 0 {
			t.Errorf("a line through one x: %v, %v", a, b)
		}
	}
}

// Worked by hand: 10·ln(5/10) + 2·3 + 2·3·4/(10-3-1).
func TestAICc(t *testing.T) {
	near(t, "AICc", AICc(5, 10, 3), 10*math.Log(0.5)+6+4, 1e-12)
	near(t, "AICcKnown", AICcKnown(5, 10, 3), 5+6+4, 1e-12)
	if !math.IsInf(AICc(5, 4, 3), 1) {
		t.Error("four residuals cannot judge three parameters")
	}
}

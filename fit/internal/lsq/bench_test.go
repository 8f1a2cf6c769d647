package lsq

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// bumps is a family of curves for tests: member g at x has the value
//
//	local0·(x + Σ height_k·exp(-((x-k)/width_k)²)) + local1
//
// with the shared parameters {height_0, width_0, height_1, ...}.
func bumps(groups, each, shared int, noise float64, seed uint64) (p Problem, truth, start Start) {
	rng := rand.New(rand.NewPCG(seed, 1))
	for k := range shared {
		truth.Shared = append(truth.Shared, 0.5+0.2*rng.Float64())
		start.Shared = append(start.Shared, truth.Shared[k]*(0.9+0.2*rng.Float64()))
	}
	x, y := make([][]float64, groups), make([][]float64, groups)
	p = Problem{Shared: shared, Local: 2}
	for g := range groups {
		l := []float64{0.9 + 0.2*rng.Float64(), 0.1 * rng.NormFloat64()}
		truth.Local = append(truth.Local, l)
		start.Local = append(start.Local, []float64{1, 0})
		p.Groups = append(p.Groups, each)
		for range each {
			v := rng.Float64() * float64(shared) / 2
			x[g] = append(x[g], v)
			y[g] = append(y[g], bumpValue(v, l, truth.Shared, nil)+noise*rng.NormFloat64())
		}
	}
	p.Eval = func(g int, local, shared, r, j []float64) {
		cols := 2 + len(shared)
		for i, v := range x[g] {
			var row []float64
			if j != nil {
				row = j[i*cols : (i+1)*cols]
				scaleRow(row, 1/noise, func() { r[i] = bumpValue(v, local, shared, row) })
			} else {
				r[i] = bumpValue(v, local, shared, nil)
			}
			r[i] = (r[i] - y[g][i]) / noise
		}
	}
	return p, truth, start
}

func scaleRow(row []float64, by float64, fill func()) {
	fill()
	for i := range row {
		row[i] *= by
	}
}

// bumpValue also writes the derivatives (local, then shared) into row.
func bumpValue(x float64, local, shared, row []float64) float64 {
	sum := x
	for k := 0; k+1 < len(shared); k += 2 {
		u := (x - float64(k/2)) / shared[k+1]
		if u*u > 40 {
			continue
		}
		e := math.Exp(-u * u)
		sum += shared[k] * e
		if row != nil {
			row[2+k] = local[0] * e
			row[3+k] = local[0] * shared[k] * e * 2 * u * u / shared[k+1]
		}
	}
	if row != nil {
		row[0], row[1] = sum, 1
	}
	return local[0]*sum + local[1]
}

func BenchmarkGrouped(b *testing.B) {
	for _, c := range []struct {
		name         string
		groups, each int
	}{{"8x125", 8, 125}, {"5000x20", 5000, 20}} {
		b.Run(c.name, func(b *testing.B) {
			p, _, start := bumps(c.groups, c.each, 20, 0.01, 7)
			b.ReportAllocs()
			rounds := 0
			for b.Loop() {
				s, err := Levenberg(p, start, Options{})
				if err != nil {
					b.Fatal(err)
				}
				rounds = s.Iterations
			}
			b.ReportMetric(float64(rounds), "rounds")
		})
	}
}

func BenchmarkVariance(b *testing.B) {
	p, _, start := bumps(8, 125, 20, 0.01, 7)
	s, err := Levenberg(p, start, Options{})
	if err != nil {
		b.Fatal(err)
	}
	shared := make([]float64, 20)
	shared[3] = 1
	local := Locals{[]int{5}, []float64{1, 2}}
	b.ReportAllocs()
	for b.Loop() {
		s.Variance(shared, local)
	}
}

func BenchmarkLine20x50000(b *testing.B) {
	rng := rand.New(rand.NewPCG(3, 3))
	x, y := make([]float64, 50_000), make([]float64, 50_000)
	for i := range x {
		x[i] = 2 + 8*rng.Float64()
		y[i] = 3*(x[i]-0.8) + 0.01*rng.NormFloat64()
	}
	for b.Loop() {
		for range 20 {
			if _, err := Line(x, y, nil); err != nil {
				b.Fatal(err)
			}
		}
	}
}

func BenchmarkRobust(b *testing.B) {
	p, _, start := bumps(8, 125, 20, 0.01, 7)
	p, _ = spoil(p, 0.1, 7)
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := Robust(p, start, RobustOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLinear1000x20(b *testing.B) {
	rng := rand.New(rand.NewPCG(3, 4))
	x, y := mat.NewDense(1000, 20, nil), make([]float64, 1000)
	for i := range y {
		for j := range 20 {
			x.Set(i, j, rng.NormFloat64())
		}
		y[i] = rng.NormFloat64()
	}
	for b.Loop() {
		if _, err := Linear(x, y, nil); err != nil {
			b.Fatal(err)
		}
	}
}

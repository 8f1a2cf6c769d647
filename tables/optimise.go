package tables

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// bestValues gives the values at the nodes whose linear interpolation comes
// closest to f at the samples: least squares over the samples with their weights
// (nil: even), reweighted a few times towards the worst miss. A chord of a convex
// curve errs one way; this splits the error between both sides.
func bestValues(nodes, samples, f, weights []float64) []float64 {
	if len(nodes) >= len(samples) || len(nodes) == 1 {
		return atNodes(nodes, samples, f)
	}
	w := make([]float64, len(samples))
	for i := range w {
		w[i] = 1
		if weights != nil {
			w[i] = weights[i]
		}
	}
	best, worst := atNodes(nodes, samples, f), math.Inf(1)
	for range 8 {
		v, ok := leastSquares(nodes, samples, f, w)
		if !ok {
			return best
		}
		miss := worstMiss(nodes, v, samples, f, weights)
		if miss < worst {
			best, worst = v, miss
		}
		// Lawson's reweighting: where it misses most, it counts more next time.
		for i, x := range samples {
			w[i] *= 0.2 + math.Abs(interpolate(nodes, v, x)-f[i])/math.Max(miss, 1e-300)
		}
	}
	return best
}

func worstMiss(nodes, values, samples, f, weights []float64) (worst float64) {
	for i, x := range samples {
		miss := math.Abs(interpolate(nodes, values, x) - f[i])
		if weights != nil {
			miss *= weights[i]
		}
		worst = math.Max(worst, miss)
	}
	return worst
}

func atNodes(nodes, samples, f []float64) []float64 {
	out := make([]float64, len(nodes))
	for i, x := range nodes {
		out[i] = interpolate(samples, f, x)
	}
	return out
}

func leastSquares(nodes, samples, f, w []float64) ([]float64, bool) {
	a := mat.NewDense(len(samples), len(nodes), nil)
	b := mat.NewVecDense(len(samples), nil)
	for r, x := range samples {
		s := math.Sqrt(w[r])
		i, part := hats(nodes, x)
		a.Set(r, i, s*(1-part))
		if part > 0 {
			a.Set(r, i+1, s*part)
		}
		b.SetVec(r, s*f[r])
	}
	var v mat.VecDense
	if err := v.SolveVec(a, b); err != nil {
		return nil, false
	}
	return v.RawVector().Data, true
}

// bestGrid does the same over two axes, one after the other.
func bestGrid(rows, cols, rowSamples, colSamples []float64, f [][]float64) [][]float64 {
	half := make([][]float64, len(rowSamples))
	for i := range f {
		half[i] = bestValues(cols, colSamples, f[i], nil)
	}
	out := make([][]float64, len(rows))
	for i := range out {
		out[i] = make([]float64, len(cols))
	}
	column := make([]float64, len(rowSamples))
	for j := range cols {
		for i := range half {
			column[i] = half[i][j]
		}
		for i, v := range bestValues(rows, rowSamples, column, nil) {
			out[i][j] = v
		}
	}
	return out
}

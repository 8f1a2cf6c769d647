package tables

import (
	"math"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"
)

// A goal is what the look-up of a table shall give at one place, and how much a miss
// there counts. A list has one column, at 0.
type goal struct {
	row, col      float64
	value, weight float64
}

// A lattice is a grid of nodes between which a look-up is linear, laid out row after
// row; a list is a grid of one column.
type lattice struct {
	rows, cols []float64
	start      []float64 // value of the function at each node; NaN: the node stays empty
}

// A touch is a goal with the nodes its look-up touches and their parts.
type touch struct {
	goal
	node [4]int
	part [4]float64
	n    int
}

// rounds of reweighting; the worst miss of a convex curve settles within a per cent
// in about a dozen.
const rounds = 24

// best gives the values at the nodes whose look-up comes closest to the goals: the
// least worst weighted miss, found by least squares that are reweighted towards the
// goals missed most (Lawson's algorithm). A chord of a convex curve errs one way;
// this splits the error between both sides. The result never misses by more than the
// function's own values at the nodes do.
func (l lattice) best(goals []goal) []float64 {
	touches := l.touches(goals)
	best, worst := l.start, worstTouch(touches, l.start)
	counts := make([]float64, len(touches))
	for i := range counts {
		counts[i] = 1
	}
	for range rounds {
		v, ok := l.leastSquares(touches, counts)
		if !ok {
			break
		}
		miss := worstTouch(touches, v)
		if miss < worst {
			best, worst = v, miss
		}
		if miss <= 0 {
			break
		}
		most := 0.0
		for i, t := range touches {
			counts[i] *= 0.05 + t.weight*math.Abs(t.look(v)-t.value)/miss
			most = math.Max(most, counts[i])
		}
		for i := range counts {
			counts[i] /= most
		}
	}
	return best
}

// touches places the goals; those that would touch an empty node have no look-up.
func (l lattice) touches(goals []goal) []touch {
	out := make([]touch, 0, len(goals))
	for _, g := range goals {
		t := touch{goal: g}
		i, fi := hats(l.rows, g.row)
		j, fj := hats(l.cols, g.col)
		empty := false
		for di, wi := range [2]float64{1 - fi, fi} {
			for dj, wj := range [2]float64{1 - fj, fj} {
				if wi*wj <= 0 {
					continue
				}
				node := (i+di)*len(l.cols) + j + dj
				t.node[t.n], t.part[t.n] = node, wi*wj
				t.n++
				empty = empty || math.IsNaN(l.start[node])
			}
		}
		if !empty && !math.IsNaN(g.value) {
			out = append(out, t)
		}
	}
	return out
}

func (t touch) look(values []float64) (sum float64) {
	for k := range t.n {
		sum += t.part[k] * values[t.node[k]]
	}
	return sum
}

func worstTouch(ts []touch, values []float64) (worst float64) {
	for _, t := range ts {
		worst = math.Max(worst, t.weight*math.Abs(t.look(values)-t.value))
	}
	return worst
}

// anchor holds nodes that no goal is near at their start: a part of the mean weight.
const anchor = 1e-7

// leastSquares solves the normal equations for the change from the start. A look-up
// touches neighbours alone, so they are a band; hat functions make them well
// conditioned wherever there are goals, and the anchor does elsewhere.
func (l lattice) leastSquares(ts []touch, counts []float64) ([]float64, bool) {
	n := len(l.start)
	a := mat.NewSymBandDense(n, min(len(l.cols)+1, n-1), nil)
	b := mat.NewVecDense(n, nil)
	trace := 0.0
	for i, t := range ts {
		w := counts[i] * t.weight * t.weight
		off := t.value - t.look(l.start)
		for j := range t.n {
			x := w * t.part[j]
			b.SetVec(t.node[j], b.AtVec(t.node[j])+x*off)
			trace += x * t.part[j]
			for k := j; k < t.n; k++ {
				r, c := min(t.node[j], t.node[k]), max(t.node[j], t.node[k])
				a.SetSymBand(r, c, a.At(r, c)+x*t.part[k])
			}
		}
	}
	if !(trace > 0) {
		return nil, false
	}
	for i := range n {
		a.SetSymBand(i, i, a.At(i, i)+anchor*trace/float64(n))
	}
	// Without its condition, which would take as long again: that is good by the anchor.
	factor, ok := lapack64.Pbtrf(a.RawSymBand())
	if !ok {
		return nil, false
	}
	lapack64.Pbtrs(factor, blas64.General{Rows: n, Cols: 1, Stride: 1, Data: b.RawVector().Data})
	out := make([]float64, n)
	floats.AddTo(out, l.start, b.RawVector().Data)
	return out, true
}

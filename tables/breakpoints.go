package tables

import (
	"math"
	"slices"
)

// Breakpoints chooses k of the rising candidates so that straight lines between
// the function's values there miss it by as little as possible at the worst place
// (minimax), by dynamic programming over the candidates: exact for them. The first
// and last candidate are always taken. rows holds one function a row, its values
// at the candidates; the miss counts over all rows, times the weight of its place
// (nil: 1 everywhere). Where the worst miss is no more than negligible, those spaced
// most evenly are taken of all choices that miss by no more than that. It returns the
// indexes chosen and the worst weighted miss.
func Breakpoints(at []float64, rows [][]float64, weights []float64, k int, negligible float64) ([]int, float64) {
	n := len(at)
	if k >= n {
		all := make([]int, n)
		for i := range all {
			all[i] = i
		}
		return all, 0
	}
	// The best nodes miss by no more than any others.
	miss := chordMisses(at, rows, weights, math.Max(negligible, evenMiss(at, rows, weights, k)))
	worst := func(best float64, i, j int) float64 { return math.Max(best, miss[i][j]) }
	picked, least := path(n, k, worst)
	if least > negligible {
		return picked, least
	}
	picked, _ = path(n, k, func(best float64, i, j int) float64 {
		if miss[i][j] > negligible {
			return math.Inf(1)
		}
		gap := at[j] - at[i]
		return best + gap*gap
	})
	least = 0
	for m := 1; m < k; m++ {
		least = worst(least, picked[m-1], picked[m])
	}
	return picked, least
}

// nearly keeps ties from being broken by rounding, which differs from one kind of
// processor to another: of choices that cost the same the first is taken.
const nearly = 1 - 1e-9

// path finds the k nodes from 0 to n − 1 whose cost is least, where cost gives that of
// going from node i to node j after the best way to i has cost so much.
func path(n, k int, cost func(best float64, i, j int) float64) ([]int, float64) {
	// best[j] is the least cost from node 0 to j with the nodes used so far; from[m][j]
	// the node before j.
	best := make([]float64, n)
	for j := range best {
		best[j] = cost(0, 0, j)
	}
	from := make([][]int, k)
	for m := 2; m < k; m++ {
		next := make([]float64, n)
		from[m] = make([]int, n)
		for j := range next {
			next[j] = math.Inf(1)
			for i := m - 1; i < j; i++ {
				if c := cost(best[i], i, j); c < next[j]*nearly {
					next[j], from[m][j] = c, i
				}
			}
		}
		best = next
	}
	out := []int{n - 1}
	for m, j := k-1, n-1; m > 1; m-- {
		j = from[m][j]
		out = append(out, j)
	}
	out = append(out, 0)
	slices.Reverse(out)
	return out, best[n-1]
}

// chordMisses is, for every pair of candidates, the worst distance between the
// functions and the chord from one to the other; infinite where it is beyond limit,
// since no further look is then worth its time: most chords are long and far off.
func chordMisses(at []float64, rows [][]float64, weights []float64, limit float64) [][]float64 {
	n := len(at)
	miss := make([][]float64, n)
	for i := range miss {
		miss[i] = make([]float64, n)
		for j := i + 2; j < n; j++ {
			miss[i][j] = chordMiss(at, rows, weights, i, j, limit)
		}
	}
	return miss
}

func chordMiss(at []float64, rows [][]float64, weights []float64, i, j int, limit float64) (worst float64) {
	for _, f := range rows {
		slope := (f[j] - f[i]) / (at[j] - at[i])
		for k := i + 1; k < j; k++ {
			off := f[i] + slope*(at[k]-at[i]) - f[k]
			if off < 0 {
				off = -off
			}
			if weights != nil {
				off *= weights[k]
			}
			if off > worst {
				if worst = off; worst > limit {
					return math.Inf(1)
				}
			}
		}
	}
	return worst
}

// evenMiss is the worst miss of k nodes spread evenly over the candidates.
func evenMiss(at []float64, rows [][]float64, weights []float64, k int) (worst float64) {
	last, from := len(at)-1, 0
	for m := 1; m < k; m++ {
		to := m * last / (k - 1)
		worst = math.Max(worst, chordMiss(at, rows, weights, from, to, math.Inf(1)))
		from = to
	}
	return worst
}

// hats gives the weights of linear interpolation at x between rising nodes, the
// end held outside.
func hats(nodes []float64, x float64) (i int, f float64) {
	last := len(nodes) - 1
	if x <= nodes[0] || last == 0 {
		return 0, 0
	}
	if x >= nodes[last] {
		return last, 0
	}
	i, found := slices.BinarySearch(nodes, x)
	if found {
		return i, 0
	}
	return i - 1, (x - nodes[i-1]) / (nodes[i] - nodes[i-1])
}

// interpolate is the linear look-up of an ECU: between breakpoints, held outside.
func interpolate(nodes, values []float64, x float64) float64 {
	i, f := hats(nodes, x)
	if f > 0 {
		return values[i]*(1-f) + values[i+1]*f
	}
	return values[i]
}

// spaced gives n evenly spaced values from lo to hi.
func spaced(lo, hi float64, n int) []float64 {
	if n == 1 {
		return []float64{lo}
	}
	out := make([]float64, n)
	for i := range out {
		out[i] = lo + (hi-lo)*float64(i)/float64(n-1)
	}
	out[n-1] = hi
	return out
}

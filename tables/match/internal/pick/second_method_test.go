package pick

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// cliqueExists is a second way to decide, written apart from the search: plain
// branching on lists, with the bound that a group needs k rows of degree k-1.
func cliqueExists(m Matrix, k int, limit int32) bool {
	near := make([][]bool, m.n)
	for a := range near {
		near[a] = make([]bool, m.n)
		for b := range near[a] {
			near[a][b] = a != b && m.dist(int32(a), int32(b), removed) <= limit
		}
	}
	var grow func(cand []int, need int) bool
	grow = func(cand []int, need int) bool {
		for {
			kept := slices.DeleteFunc(slices.Clone(cand), func(a int) bool {
				degree := 0
				for _, b := range cand {
					if near[a][b] {
						degree++
					}
				}
				return degree < need-1
			})
			if len(kept) == len(cand) {
				break
			}
			cand = kept
		}
		if need == 0 || need == 1 && len(cand) > 0 {
			return true
		}
		for len(cand) >= need {
			a := cand[0]
			cand = cand[1:]
			next := slices.DeleteFunc(slices.Clone(cand), func(b int) bool { return !near[a][b] })
			if grow(next, need-1) {
				return true
			}
		}
		return false
	}
	all := make([]int, m.n)
	for i := range all {
		all[i] = i
	}
	return grow(all, k)
}

// TestSecondMethodRefutesLess: an independent search finds a group at the value
// reported, and none a millionth below it.
func TestSecondMethodRefutesLess(t *testing.T) {
	r := rand.New(rand.NewPCG(15, 16))
	for range 60 {
		n, d, k := 20+r.IntN(100), 1+r.IntN(12), 2+r.IntN(8)
		m := randomPile(r, kinds[r.IntN(3)], n, d)
		g := Best(m, k, nil, nil, noLimit())
		if !cliqueExists(m, k, g.Worst) || g.Worst > 0 && cliqueExists(m, k, g.Worst-1) {
			t.Fatalf("n=%d d=%d k=%d: the second method does not agree with %d", n, d, k, g.Worst)
		}
	}
}

// TestBisectionAgrees: bisection over all distances with the second method gives
// the same value as the search, on larger piles.
func TestBisectionAgrees(t *testing.T) {
	r := rand.New(rand.NewPCG(17, 18))
	for _, n := range []int{200, 400} {
		m := randomPile(r, "like injectors", n, 6)
		var values []int32
		for a := range n {
			for b := range a {
				values = append(values, m.dist(int32(a), int32(b), removed))
			}
		}
		slices.Sort(values)
		values = slices.Compact(values)
		lo, hi := 0, len(values)-1
		for lo < hi {
			if mid := (lo + hi) / 2; cliqueExists(m, 8, values[mid]) {
				hi = mid
			} else {
				lo = mid + 1
			}
		}
		if g := Best(m, 8, nil, nil, noLimit()); g.Worst != values[lo] {
			t.Fatalf("n=%d: search %d, bisection %d", n, g.Worst, values[lo])
		}
	}
}

package pick

import (
	"cmp"
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
)

// subsets visits every ascending list of k of the rows.
func subsets(rows []int, k int, visit func([]int)) {
	chosen := make([]int, 0, k)
	var from func(at int)
	from = func(at int) {
		if len(chosen) == k {
			visit(chosen)
			return
		}
		for i := at; i < len(rows); i++ {
			chosen = append(chosen, rows[i])
			from(i + 1)
			chosen = chosen[:len(chosen)-1]
		}
	}
	from(0)
}

// order compares groups by worst span, next-worst span, sum of spans, rows:
// written from the rule, not from the code under test.
func order(m Matrix, a, b []int) int {
	key := func(set []int) (int32, int32, int64) {
		spans := m.Spans(set)
		slices.Sort(spans)
		slices.Reverse(spans)
		second := int32(0)
		if len(spans) > 1 {
			second = spans[1]
		}
		var sum int64
		for _, s := range spans {
			sum += int64(s)
		}
		return spans[0], second, sum
	}
	wa, sa, ta := key(a)
	wb, sb, tb := key(b)
	return cmp.Or(cmp.Compare(wa, wb), cmp.Compare(sa, sb), cmp.Compare(ta, tb), slices.Compare(a, b))
}

// bruteBest tries every group.
func bruteBest(m Matrix, k int, keep, drop []int) []int {
	var rows []int
	for i := range m.Rows() {
		if !slices.Contains(drop, i) {
			rows = append(rows, i)
		}
	}
	var best []int
	subsets(rows, k, func(set []int) {
		for _, i := range keep {
			if !slices.Contains(set, i) {
				return
			}
		}
		if best == nil || order(m, set, best) < 0 {
			best = slices.Clone(set)
		}
	})
	return best
}

// kinds of random piles, in millionths of ln(delivered).
var kinds = []string{"like injectors", "read to 0.1 %", "even", "equal"}

// randomPile makes n rows of d columns. "Like injectors": gain sd 1.5 %, offset
// sd 0.02 ms, 8 % gross outliers, noise falling with the pulse; the sds are
// assumed, not from a source.
func randomPile(r *rand.Rand, kind string, n, d int) Matrix {
	rows := make([][]int32, n)
	for i := range rows {
		gain, offset := 0.015*r.NormFloat64(), 0.02*r.NormFloat64()
		if r.Float64() < 0.08 {
			gain += (0.08 + 0.17*r.Float64()) * sign(r)
			offset += (0.15 + 0.25*r.Float64()) * sign(r)
		}
		rows[i] = make([]int32, d)
		for j := range rows[i] {
			t := []float64{2, 3, 4, 8, 12, 18}[j%6]
			noise := 0.0015 * (1 + 4/t) * r.NormFloat64()
			x := gain - offset/t + noise
			switch kind {
			case "read to 0.1 %":
				x = float64(int(x*1000)) / 1000
			case "even":
				x = r.Float64() / 10
			case "equal":
				x = float64(r.IntN(2)) / 1000
			}
			rows[i][j] = int32(x * 1e6)
		}
	}
	return NewMatrix(rows)
}

func sign(r *rand.Rand) float64 { return float64(2*r.IntN(2) - 1) }

func noLimit() *Meter { return NewMeter(context.Background(), 1<<60) }

func TestBestAgreesWithEnumeration(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 6000 {
		kind := kinds[r.IntN(len(kinds))]
		n, d := 1+r.IntN(13), 1+r.IntN(12)
		k := 1 + r.IntN(min(n, 8))
		m := randomPile(r, kind, n, d)
		keep, drop := randomConstraints(r, n, k)
		name := fmt.Sprintf("%s n=%d d=%d k=%d keep=%v drop=%v", kind, n, d, k, keep, drop)
		want := bruteBest(m, k, keep, drop)
		got := Best(m, k, keep, drop, noLimit())
		if !slices.Equal(got.Rows, want) {
			t.Fatalf("%s: got %v (%d %v), want %v (%d %v)", name,
				got.Rows, m.Worst(got.Rows), m.Spans(got.Rows), want, m.Worst(want), m.Spans(want))
		}
		if !got.Proven() || !got.Unique || got.Worst != m.Worst(want) {
			t.Fatalf("%s: %+v not proven, unique, or wrong worst %d", name, got, m.Worst(want))
		}
	}
}

// randomConstraints keeps up to k rows and drops a few others, half of the time.
func randomConstraints(r *rand.Rand, n, k int) (keep, drop []int) {
	if r.IntN(2) == 0 {
		return nil, nil
	}
	rows := r.Perm(n)
	keep = rows[:r.IntN(k+1)]
	rest := rows[len(keep):]
	return keep, rest[:r.IntN(n-k+1)]
}

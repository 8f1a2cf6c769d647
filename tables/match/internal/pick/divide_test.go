package pick

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
)

// divisions visits every way to take groups disjoint groups of k rows.
func divisions(rows []int, k, groups int, visit func([][]int)) {
	var chosen [][]int
	var from func(rows []int)
	from = func(rows []int) {
		if len(chosen) == groups {
			visit(chosen)
			return
		}
		// The group of the lowest row in any group comes first.
		for at := 0; at+k*(groups-len(chosen)) <= len(rows); at++ {
			rest := rows[at+1:]
			subsets(rest, k-1, func(others []int) {
				group := append([]int{rows[at]}, others...)
				left := slices.DeleteFunc(slices.Clone(rest), func(i int) bool { return slices.Contains(group, i) })
				chosen = append(chosen, group)
				from(left)
				chosen = chosen[:len(chosen)-1]
			})
		}
	}
	from(rows)
}

// bruteDivision gives the smallest worst span; ok is false if keep can't be covered.
func bruteDivision(m Matrix, rows []int, k, groups int, keep []int) (worst int32, ok bool) {
	divisions(rows, k, groups, func(list [][]int) {
		for _, i := range keep {
			if !slices.ContainsFunc(list, func(g []int) bool { return slices.Contains(g, i) }) {
				return
			}
		}
		if w := worstOf(m, list); !ok || w < worst {
			worst, ok = w, true
		}
	})
	return worst, ok
}

func rowsWithout(n int, leave []int) []int {
	var rows []int
	for _, i := range without(n, leave) {
		rows = append(rows, int(i))
	}
	return rows
}

// disjoint fails unless the groups have k rows each, hold keep, avoid leave and
// overlap nowhere.
func disjoint(t *testing.T, name string, groups [][]int, k int, keep, leave []int) {
	t.Helper()
	var all []int
	for _, g := range groups {
		if len(g) != k {
			t.Fatalf("%s: group %v has not %d rows", name, g, k)
		}
		all = append(all, g...)
	}
	slices.Sort(all)
	if len(slices.Compact(slices.Clone(all))) != len(all) {
		t.Fatalf("%s: groups overlap: %v", name, groups)
	}
	for _, i := range keep {
		if !slices.Contains(all, i) {
			t.Fatalf("%s: row %d is kept but in no group: %v", name, i, groups)
		}
	}
	for _, i := range leave {
		if slices.Contains(all, i) {
			t.Fatalf("%s: row %d was to be left: %v", name, i, groups)
		}
	}
}

func TestDivideAgreesWithEnumeration(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 1500 {
		kind := kinds[r.IntN(len(kinds))]
		n, d := 4+r.IntN(7), 1+r.IntN(6)
		k := 1 + r.IntN(n/2)
		groups := 1 + r.IntN(n/k)
		m := randomPile(r, kind, n, d)
		var keep, leave []int
		if r.IntN(2) == 0 {
			rows := r.Perm(n)
			keep = rows[:r.IntN(k*groups+1)]
			leave = rows[len(keep):][:r.IntN(n-k*groups+1)]
		}
		name := fmt.Sprintf("%s n=%d d=%d k=%d groups=%d keep=%v leave=%v", kind, n, d, k, groups, keep, leave)
		want, ok := bruteDivision(m, rowsWithout(n, leave), k, groups, keep)
		if !ok {
			t.Fatalf("%s: enumeration found none", name)
		}
		got := Divide(m, k, groups, keep, leave, noLimit())
		if len(got.Groups) != groups || got.Worst != want || !got.Proven() || worstOf(m, got.Groups) != want {
			t.Fatalf("%s: %+v, want worst %d", name, got, want)
		}
		disjoint(t, name, got.Groups, k, keep, leave)
		turns := worstOf(m, inTurn(m, k, groups, keep, leave, noLimit()))
		if bound := LowerBound(m, k, groups, turns, keep, leave, noLimit()); bound > want {
			t.Fatalf("%s: bound %d above the optimum %d", name, bound, want)
		}
	}
}

func TestMostGroupsAgreesWithEnumeration(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 1000 {
		kind := kinds[r.IntN(len(kinds))]
		n, d := 4+r.IntN(6), 1+r.IntN(6)
		k := 1 + r.IntN(3)
		m := randomPile(r, kind, n, d)
		limit := m.dist(0, 1, removed)
		var keep []int
		if r.IntN(2) == 0 {
			keep = r.Perm(n)[:r.IntN(3)]
		}
		name := fmt.Sprintf("%s n=%d d=%d k=%d limit=%d keep=%v", kind, n, d, k, limit, keep)
		most, worst := 0, int32(0)
		for groups := n / k; groups > 0 && most == 0; groups-- {
			if w, ok := bruteDivision(m, rowsWithout(n, nil), k, groups, keep); ok && w <= limit {
				most, worst = groups, w
			}
		}
		got := MostGroups(m, k, limit, keep, nil, noLimit())
		if len(got.Groups) != most || got.Most != most || got.Worst != worst || !got.Proven() {
			t.Fatalf("%s: %+v, want %d groups with worst %d", name, got, most, worst)
		}
		if most > 0 {
			disjoint(t, name, got.Groups, k, keep, nil)
		}
	}
}

func TestNextBestAgreesWithEnumeration(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for range 1500 {
		kind := kinds[r.IntN(len(kinds))]
		n, d := 2+r.IntN(9), 1+r.IntN(6)
		k := 1 + r.IntN(n-1)
		m := randomPile(r, kind, n, d)
		keep, leave := randomConstraints(r, n, k)
		best := Best(m, k, keep, leave, noLimit())
		found, want := false, int32(0)
		subsets(rowsWithout(n, leave), k, func(set []int) {
			for _, i := range keep {
				if !slices.Contains(set, i) {
					return
				}
			}
			if w := m.Worst(set); !slices.Equal(set, best.Rows) && (!found || w < want) {
				found, want = true, w
			}
		})
		got, ok := NextBest(m, best.Rows, keep, leave, noLimit())
		if ok != found || ok && (got.Worst != want || m.Worst(got.Rows) != want || !got.Proven() || slices.Equal(got.Rows, best.Rows)) {
			t.Fatalf("%s n=%d d=%d k=%d keep=%v leave=%v: %+v %v, want %d %v", kind, n, d, k, keep, leave, got, ok, want, found)
		}
		if first := firstExchange(m, best.Rows, want, keep, leave); first != nil && !slices.Equal(got.Rows, first) {
			t.Fatalf("%s n=%d d=%d k=%d keep=%v leave=%v: %v, but %v ranks before it", kind, n, d, k, keep, leave, got.Rows, first)
		}
	}
}

// firstExchange is the first in order of the groups with this worst span that
// differ from rows in one row; nil if there is none.
func firstExchange(m Matrix, rows []int, worst int32, keep, leave []int) (first []int) {
	for at, i := range rows {
		for j := range m.Rows() {
			if slices.Contains(keep, i) || slices.Contains(leave, j) || slices.Contains(rows, j) {
				continue
			}
			other := slices.Clone(rows)
			other[at] = j
			slices.Sort(other)
			if m.Worst(other) == worst && (first == nil || order(m, other, first) < 0) {
				first = other
			}
		}
	}
	return first
}

func TestAloneAgreesWithEnumeration(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	for range 1000 {
		kind := kinds[r.IntN(len(kinds))]
		n, d := 2+r.IntN(8), 1+r.IntN(6)
		k := 1 + r.IntN(n)
		m := randomPile(r, kind, n, d)
		keep, leave := randomConstraints(r, n, k)
		if len(keep) == k {
			keep = nil
		}
		got, proven := Alone(m, k, keep, leave, noLimit())
		for _, i := range rowsWithout(n, leave) {
			want := m.Worst(bruteBest(m, k, withRow(keep, i), leave))
			if !proven || got[i] != want {
				t.Fatalf("%s n=%d d=%d k=%d keep=%v leave=%v row %d: %d, want %d", kind, n, d, k, keep, leave, i, got[i], want)
			}
		}
	}
}

func withRow(keep []int, i int) []int {
	if slices.Contains(keep, i) {
		return keep
	}
	return append(slices.Clone(keep), i)
}

// A division that has no time left still gives groups and a true bound, and
// never claims a proof.
func TestStoppedSearchesClaimNoProof(t *testing.T) {
	done, cancel := context.WithCancel(context.Background())
	cancel()
	r := rand.New(rand.NewPCG(11, 12))
	for range 300 {
		n, d := 8+r.IntN(5), 2+r.IntN(5)
		m := randomPile(r, kinds[r.IntN(3)], n, d)
		for _, meter := range []func() *Meter{
			func() *Meter { return NewMeter(done, 1<<60) },
			func() *Meter { return NewMeter(context.Background(), int64(r.IntN(60000))) },
		} {
			best := m.Worst(bruteBest(m, 4, nil, nil))
			g := Best(m, 4, nil, nil, meter())
			if g.Lower > best || g.Worst < best || g.Proven() && g.Worst != best || m.Worst(g.Rows) != g.Worst {
				t.Fatalf("best: %+v, optimum %d", g, best)
			}
			want, _ := bruteDivision(m, rowsWithout(n, nil), 4, 2, nil)
			div := Divide(m, 4, 2, nil, nil, meter())
			if div.Lower > want || div.Worst < want || div.Proven() && div.Worst != want {
				t.Fatalf("divide: %+v, optimum %d", div, want)
			}
			disjoint(t, "stopped", div.Groups, 4, nil, nil)
			most := MostGroups(m, 4, want, nil, nil, meter())
			if most.Most < 2 || len(most.Groups) > most.Most {
				t.Fatalf("most groups: %+v, 2 are possible", most)
			}
		}
		stopped := Best(randomPile(r, "like injectors", 200, 6), 8, nil, nil, NewMeter(done, 1<<60))
		if stopped.Proven() || stopped.Unique || len(stopped.Rows) != 8 {
			t.Fatalf("stopped at the start: %+v", stopped)
		}
	}
}

// A search stopped anywhere keeps its promises: on larger piles the budget ends
// it in every phase, and the bound never passes the optimum.
func TestStoppedAnywhereTheBoundHolds(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	between, unique := 0, 0
	for range 15 {
		kind := kinds[r.IntN(3)]
		m := randomPile(r, kind, 120, 12)
		best := Best(m, 10, nil, nil, noLimit())
		for budget := int64(1000); budget < 30_000_000; budget = budget * 3 / 2 {
			g := Best(m, 10, nil, nil, NewMeter(context.Background(), budget))
			if g.Lower > best.Worst || g.Worst < best.Worst || g.Unique && !slices.Equal(g.Rows, best.Rows) {
				t.Fatalf("budget %d: %+v, optimum %+v", budget, g, best)
			}
			if !g.Proven() && g.Lower > 0 {
				between++
			}
			if g.Proven() && !g.Unique {
				unique++
			}
		}
	}
	if between == 0 || unique == 0 {
		t.Fatalf("the budgets ended %d searches in the proof and %d among equal groups", between, unique)
	}
}

// TestInTurn: each group is the best of what those before it left.
func TestInTurn(t *testing.T) {
	r := rand.New(rand.NewPCG(23, 24))
	for range 200 {
		m := randomPile(r, kinds[r.IntN(len(kinds))], 9, 1+r.IntN(5))
		keep := []int{r.IntN(9)}
		used := []int{}
		for q, g := range InTurn(m, 3, 3, keep, nil, noLimit()) {
			if q > 0 {
				keep = nil
			}
			if want := bruteBest(m, 3, keep, used); !slices.Equal(g.Rows, want) || !g.Unique {
				t.Fatalf("group %d: %+v, want %v", q, g, want)
			}
			used = append(used, g.Rows...)
		}
	}
}

package pick

import (
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// piles draws a small pile and a size of group.
func piles(t *rapid.T) (rows [][]int32, k int) {
	n := rapid.IntRange(2, 14).Draw(t, "n")
	d := rapid.IntRange(1, 8).Draw(t, "d")
	top := rapid.SampledFrom([]int32{3, 50, 100_000}).Draw(t, "top") // few values make ties
	for range n {
		rows = append(rows, rapid.SliceOfN(rapid.Int32Range(-top, top), d, d).Draw(t, "row"))
	}
	return rows, rapid.IntRange(1, n).Draw(t, "k")
}

func best(rows [][]int32, k int) Group {
	return Best(NewMatrix(rows), k, nil, nil, noLimit())
}

func TestOrderOfRowsAndColumnsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows, k := piles(t)
		want := best(rows, k)
		perm := rapid.Permutation(indexesOf(len(rows))).Draw(t, "rows")
		cols := rapid.Permutation(indexesOf(len(rows[0]))).Draw(t, "columns")
		mixed := make([][]int32, len(rows))
		for i, from := range perm {
			for _, j := range cols {
				mixed[i] = append(mixed[i], rows[from][j])
			}
		}
		got := best(mixed, k)
		if got.Worst != want.Worst {
			t.Fatalf("worst %d after mixing, %d before", got.Worst, want.Worst)
		}
		spans, wantSpans := NewMatrix(mixed).Spans(got.Rows), NewMatrix(rows).Spans(want.Rows)
		if second(spans) != second(wantSpans) || sum(spans) != sum(wantSpans) {
			t.Fatalf("spans %v after mixing, %v before", spans, wantSpans)
		}
	})
}

func TestOrderOfColumnsLeavesTheGroup(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows, k := piles(t)
		cols := rapid.Permutation(indexesOf(len(rows[0]))).Draw(t, "columns")
		mixed := make([][]int32, len(rows))
		for i := range rows {
			for _, j := range cols {
				mixed[i] = append(mixed[i], rows[i][j])
			}
		}
		if a, b := best(rows, k), best(mixed, k); !slices.Equal(a.Rows, b.Rows) {
			t.Fatalf("%v, with columns mixed %v", a.Rows, b.Rows)
		}
	})
}

func indexesOf(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = i
	}
	return list
}

func second(spans []int32) int32 {
	s := slices.Sorted(slices.Values(spans))
	if len(s) < 2 {
		return 0
	}
	return s[len(s)-2]
}

func sum(spans []int32) (total int64) {
	for _, s := range spans {
		total += int64(s)
	}
	return total
}

func TestAnotherRowNeverWorsensAndANonMemberNeverMatters(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows, k := piles(t)
		if len(rows) == k {
			return
		}
		all := best(rows, k)
		out := rapid.IntRange(0, len(rows)-1).Draw(t, "out")
		less := best(slices.Delete(slices.Clone(rows), out, out+1), k)
		if less.Worst < all.Worst {
			t.Fatalf("worst %d without row %d, %d with it", less.Worst, out, all.Worst)
		}
		if slices.Contains(all.Rows, out) {
			return
		}
		for i, row := range less.Rows {
			if row >= out {
				less.Rows[i]++
			}
		}
		if !slices.Equal(less.Rows, all.Rows) {
			t.Fatalf("%v without row %d, which is not in %v", less.Rows, out, all.Rows)
		}
	})
}

func TestAnotherColumnNeverHelpsAndALargerGroupNeverSpansLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows, k := piles(t)
		here := best(rows, k).Worst
		if k < len(rows) && best(rows, k+1).Worst < here {
			t.Fatal("one row more spans less")
		}
		if len(rows[0]) == 1 {
			return
		}
		for i := range rows {
			rows[i] = rows[i][1:]
		}
		if best(rows, k).Worst > here {
			t.Fatal("one column less spans more")
		}
	})
}

func TestScaleAndShift(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows, k := piles(t)
		want := best(rows, k)
		scale := rapid.Int32Range(1, 1000).Draw(t, "scale")
		shift := rapid.SliceOfN(rapid.Int32Range(-1e6, 1e6), len(rows[0]), len(rows[0])).Draw(t, "shift")
		for i := range rows {
			for j := range rows[i] {
				rows[i][j] = rows[i][j]*scale + shift[j]
			}
		}
		got := best(rows, k)
		if got.Worst != scale*want.Worst || !slices.Equal(got.Rows, want.Rows) {
			t.Fatalf("%+v scaled by %d, %+v before", got, scale, want)
		}
	})
}

func TestDivisionsInOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	for range 40 {
		m := randomPile(r, kinds[r.IntN(3)], 40, 1+r.IntN(8))
		before := int32(0)
		for groups := 1; groups <= 8; groups++ {
			d := Divide(m, 4, groups, nil, nil, noLimit())
			start := worstOf(m, inTurn(m, 4, groups, nil, nil, noLimit()))
			if d.Worst > start || d.Lower != d.Worst || d.Worst < before {
				t.Fatalf("%d groups: %+v, in turn %d, one group less %d", groups, d, start, before)
			}
			before = d.Worst
		}
		few := 0
		for limit := int32(0); limit < 60000; limit += 4000 {
			most := MostGroups(m, 4, limit, nil, nil, noLimit())
			if len(most.Groups) < few || len(most.Groups) != most.Most {
				t.Fatalf("limit %d: %+v, %d groups at a smaller one", limit, most, few)
			}
			few = len(most.Groups)
		}
	}
}

func TestJoiningRanksBySpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows, k := piles(t)
		m := NewMatrix(rows)
		group := best(rows, k).Rows
		fits := Joining(m, group, nil)
		if len(fits) != len(rows)-k {
			t.Fatalf("%d fits of %d rows beside %d", len(fits), len(rows), k)
		}
		for at, f := range fits {
			with := append(slices.Clone(group), f.Row)
			if m.Worst(with) != f.Worst || at > 0 && f.Worst < fits[at-1].Worst {
				t.Fatalf("fit %d: %+v, worst %d", at, f, m.Worst(with))
			}
		}
	})
}

package seat

import (
	"cmp"
	"context"
	"math/bits"
	"math/rand/v2"
	"slices"
)

// A search holds the best seating found so far.
type search struct {
	Engine
	x     [][]int32
	n     int
	scale int64
	unit  []int
	cost  Cost
	lower Cost

	near    [][][]int64 // [place in order][unit][unit at the next place]: difference
	inBank  []int       // bank of each place in the firing order
	visited []uint16    // by set of units seated: which may sit last

	ctx    context.Context
	budget int64
}

func newSearch(ctx context.Context, e Engine, x [][]int32, budget int64) *search {
	s := &search{Engine: e, x: x, n: len(e.Banks), scale: e.Scale(), ctx: ctx, budget: budget}
	s.unit = make([]int, s.n)
	for i := range s.unit {
		s.unit[i] = i
	}
	s.cost = e.Cost(x, s.unit)
	for at, seat := range e.Order {
		after := e.Order[(at+1)%s.n]
		rows := make([][]int64, s.n)
		for u := range rows {
			rows[u] = make([]int64, s.n)
			for v := range rows[u] {
				for _, col := range x {
					rows[u][v] = max(rows[u][v], abs(int64(col[u]-e.need(seat))-int64(col[v]-e.need(after))))
				}
			}
		}
		s.near = append(s.near, rows)
		s.inBank = append(s.inBank, e.Banks[seat])
	}
	if s.n <= MaxProven {
		s.visited = make([]uint16, 1<<s.n)
	}
	return s
}

func (s *search) stopped() bool { return s.budget < 0 || s.ctx.Err() != nil }

// starts is how many random seatings are improved by exchanges.
const starts = 24

// exchange looks for a good seating: from a few starts it exchanges two units
// as long as that helps.
func (s *search) exchange() {
	r := rand.New(rand.NewPCG(2, 2))
	unit := slices.Clone(s.unit)
	for start := range starts {
		if start > 0 {
			r.Shuffle(s.n, func(a, b int) { unit[a], unit[b] = unit[b], unit[a] })
		}
		cost := s.Cost(s.x, unit)
		for better := true; better && !s.stopped(); {
			better = false
			for a := range s.n {
				for b := range a {
					unit[a], unit[b] = unit[b], unit[a]
					if c := s.Cost(s.x, unit); c < cost {
						cost, better = c, true
					} else {
						unit[a], unit[b] = unit[b], unit[a]
					}
				}
			}
			s.budget -= int64(s.n * s.n * s.n * 10)
		}
		if cost < s.cost {
			s.cost, s.unit = cost, slices.Clone(unit)
		}
	}
}

// A split gives each bank its units, as bit sets, with the largest difference
// of the banks' means.
type split struct {
	banks []uint16
	cost  int64
}

// maxSplits is the most ways to part the units over the banks that are looked at.
const maxSplits = 3_000_000

// prove goes through the ways to part the units over the banks, the most even
// first, and finds the best order within each, until no other can be better.
func (s *search) prove() {
	floor := s.neighbourBound() * s.scale
	s.lower = min(s.cost, Cost(floor))
	if s.n > MaxProven || s.ways() > maxSplits {
		return
	}
	for _, p := range s.splits() {
		if Cost(p.cost+floor) >= s.cost {
			break
		}
		s.lower = max(s.lower, Cost(p.cost+floor))
		if s.stopped() {
			return
		}
		s.within(p)
	}
	if !s.stopped() {
		s.lower = s.cost
	}
}

// neighbourBound is a lower bound on the largest difference of neighbours in a
// circle. On a line the best circle goes up by every other value and down by
// those between, so that its largest step is the largest difference of two
// values next but one. What the seats want can hide as much as two of them
// want differently.
func (s *search) neighbourBound() int64 {
	if len(s.Order) < 2 {
		return 0
	}
	var bound int64
	for _, col := range s.x {
		v := slices.Sorted(slices.Values(col))
		step := min(2, s.n-1)
		for i := step; i < s.n; i++ {
			bound = max(bound, int64(v[i])-int64(v[i-step]))
		}
	}
	var hidden int64
	for at, seat := range s.Order {
		hidden = max(hidden, abs(int64(s.need(seat))-int64(s.need(s.Order[(at+1)%s.n]))))
	}
	return max(0, bound-hidden)
}

// ways is how many ways there are to part the units over the banks.
func (s *search) ways() int64 {
	ways, left := int64(1), s.n
	for _, size := range s.sizes() {
		for i := range size {
			ways = ways * int64(left-i) / int64(i+1)
		}
		left -= size
	}
	return ways
}

// splits lists the ways whose cost alone is below the best, by rising cost.
func (s *search) splits() []split {
	sizes := s.sizes()
	wanted := make([][]int64, len(s.x)) // by column and bank
	for c := range s.x {
		wanted[c] = make([]int64, len(sizes))
		for seat, b := range s.Banks {
			wanted[c][b] += int64(s.need(seat))
		}
	}
	var list []split
	banks := make([]uint16, len(sizes))
	means := make([][]int64, len(sizes))
	var part func(bank int, left uint16)
	part = func(bank int, left uint16) {
		if bank == len(sizes) {
			if cost := unevenness(means); Cost(cost) < s.cost {
				list = append(list, split{slices.Clone(banks), cost})
			}
			return
		}
		choose(left, sizes[bank], func(set uint16) {
			banks[bank] = set
			means[bank] = s.means(set, sizes[bank], wanted, bank, means[bank])
			if Cost(unevenness(means[:bank+1])) < s.cost {
				part(bank+1, left&^set)
			}
		})
	}
	part(0, uint16(1<<s.n-1))
	slices.SortStableFunc(list, func(a, b split) int { return cmp.Compare(a.cost, b.cost) })
	s.budget -= s.ways() * 100
	return list
}

// means gives the scaled mean of a bank for each column.
func (s *search) means(set uint16, size int, wanted [][]int64, bank int, to []int64) []int64 {
	to = to[:0]
	for c, col := range s.x {
		sum := -wanted[c][bank]
		for m := set; m != 0; m &= m - 1 {
			sum += int64(col[bits.TrailingZeros16(m)])
		}
		to = append(to, sum*(s.scale/int64(size)))
	}
	return to
}

// unevenness is the largest difference between banks in any column.
func unevenness(means [][]int64) (worst int64) {
	for c := range means[0] {
		lo, hi := means[0][c], means[0][c]
		for _, m := range means[1:] {
			lo, hi = min(lo, m[c]), max(hi, m[c])
		}
		worst = max(worst, hi-lo)
	}
	return worst
}

// choose visits the subsets of size elements of set.
func choose(set uint16, size int, visit func(uint16)) {
	if size == 0 {
		visit(0)
		return
	}
	for m := set; bits.OnesCount16(m) >= size; {
		low := m & -m
		m &^= low
		choose(m, size-1, func(rest uint16) { visit(low | rest) })
	}
}

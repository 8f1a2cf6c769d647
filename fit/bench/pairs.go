package bench

import (
	"cmp"
	"slices"
)

// pairs sorts readings by injector and point. Only pairs that were measured are kept,
// because a session of many injectors has many points that few were measured at.
type pairs struct {
	list  []pair    // by injector, then point; a last one marks the end
	order []int32   // readings by pair, in the order of the sheet within
	of    []int32   // by reading: its pair
	from  []int32   // by injector: its first pair, and a last one for the end
	at    [][]int32 // by point: its pairs, by injector
}

// A pair is an injector at a point, with its readings from first to the next pair's.
type pair struct{ injector, point, first int32 }

// newPairs sorts readings by the injector and the point of each. It takes over the memory of
// the points.
func newPairs(injectorOf, pointOf []int32, injectors, points int) pairs {
	readings := len(injectorOf)
	order := sortBy(sortBy(nil, points, pointOf), injectors, injectorOf)
	s := pairs{order: order, of: pointOf, from: make([]int32, injectors+1), at: make([][]int32, points)}
	next := int32(0) // injector without a first pair
	last := pair{injector: none}
	for j, k := range order {
		if i, p := injectorOf[k], pointOf[k]; i != last.injector || p != last.point {
			for ; next <= i; next++ {
				s.from[next] = int32(len(s.list))
			}
			last = pair{i, p, int32(j)}
			s.list = append(room(s.list, j, readings), last)
		}
		s.of[k] = int32(len(s.list) - 1) // its point is not asked for any more
	}
	for ; int(next) <= injectors; next++ {
		s.from[next] = int32(len(s.list))
	}
	count := make([]int, points)
	for _, x := range s.list {
		count[x.point]++
	}
	for p, n := range count {
		s.at[p] = make([]int32, 0, n)
	}
	for n, x := range s.list {
		s.at[x.point] = append(s.at[x.point], int32(n))
	}
	s.list = append(s.list, pair{first: int32(readings)})
	return s
}

// sortBy gives indexes in the order of their keys, which are below n and one for each index
// from 0; those of one key stay in the order that they were in. Of nil it gives all indexes.
func sortBy(indexes []int32, n int, key []int32) []int32 {
	start := make([]int32, n+1)
	for _, j := range key {
		start[j+1]++
	}
	for j := range n {
		start[j+1] += start[j]
	}
	sorted := make([]int32, len(key))
	put := func(k int32) {
		j := key[k]
		sorted[start[j]] = k
		start[j]++
	}
	for _, k := range indexes {
		put(k)
	}
	if indexes == nil {
		for k := range key {
			put(int32(k))
		}
	}
	return sorted
}

// count is how many pairs there are.
func (s *pairs) count() int { return len(s.list) - 1 }

// readings are those of a pair, in the order of the sheet.
func (s *pairs) readings(n int32) []int32 { return s.order[s.list[n].first:s.list[n+1].first] }

// span is where those of a pair are in the order.
func (s *pairs) span(n int32) (first, end int32) { return s.list[n].first, s.list[n+1].first }

// ofInjector are the pairs of an injector, by point.
func (s *pairs) ofInjector(i int) (first, end int32) { return s.from[i], s.from[i+1] }

// find is the pair of an injector at a point; below 0 where it was not measured.
func (s *pairs) find(i, p int) int32 {
	first, end := s.ofInjector(i)
	n, found := slices.BinarySearchFunc(s.list[first:end], int32(p), func(x pair, p int32) int { return cmp.Compare(x.point, p) })
	if !found {
		return none
	}
	return first + int32(n)
}

// readingsAt goes through the readings of a point, by injector.
func (c *Checked) readingsAt(p int) func(yield func(k int) bool) {
	return func(yield func(k int) bool) {
		for _, n := range c.pairs.at[p] {
			for _, k := range c.pairs.readings(n) {
				if !yield(int(k)) {
					return
				}
			}
		}
	}
}

const (
	none        = -1   // no pair
	leastPairs  = 2000 // that are worth a processor
	leastPoints = 40   // likewise
)

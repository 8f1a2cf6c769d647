package pick

import "slices"

// farthest is a distance that no two rows exceed.
const farthest = 2 * MaxCoordinate

// Alone gives for every row the worst span of the best group of k that contains
// it and keep, and none of leave: what taking the row costs. It holds about n²
// distances. Proven tells whether the meter let it finish; if not, the values
// are lower bounds. Rows of leave have no value, nor have rows beside keep when
// that fills the group.
func Alone(m Matrix, k int, keep, leave []int, meter *Meter) (worst []int32, proven bool) {
	f := newField(m, without(m.n, leave))
	base := f.places(keep)
	g := newGraph(f, farthest, outside(f, base), meter)
	if g == nil {
		return make([]int32, m.n), false
	}
	worst = make([]int32, m.n)
	for at, w := range anchored(f, g, k, base, farthest, meter) {
		worst[f.id[at]] = w
	}
	return worst, !meter.Stopped()
}

// outside marks the rows that are not in base.
func outside(f *field, base []int32) []bool {
	ok := make([]bool, f.n)
	for i := range ok {
		ok[i] = !slices.Contains(base, int32(i))
	}
	return ok
}

// anchored gives for every row in use the worst span of the best group of k
// that contains it and base, where that is at most limit; else a value above
// limit. Where the meter stops the search, the values are lower bounds.
//
// The bounds on several groups rest on it: the first q of m disjoint groups
// hold qk rows, so the q-th best group spans at least as much as the qk-th
// smallest of these values.
func anchored(f *field, g *graph, k int, base []int32, limit int32, m *Meter) []int32 {
	s := newSearch(f, k, base, m)
	s.g = g
	value := make([]int32, f.n)
	for i := range value {
		value[i] = limit + 1
	}
	lowest := limit + 1
	for i := range int32(f.n) {
		if !slices.Contains(base, i) {
			s.anchor(i, value)
			lowest = min(lowest, value[i])
		}
	}
	for _, b := range base {
		value[b] = lowest
		if len(base) == k {
			value[b] = f.worst(base)
		}
	}
	return value
}

// anchor lowers the value of row i to that of the best group with it, and those
// of the group's other members likewise.
func (s *search) anchor(i int32, value []int32) {
	if s.need() == 0 {
		return
	}
	s.gather(i, value[i]-1, 2*s.need())
	if len(s.near) < s.need()-1 {
		return // none is better
	}
	reach := s.f.worst(s.base) // no group with i spans less
	if s.need() > 1 {
		reach = max(reach, s.near[s.need()-2].gap)
	}
	if s.m.Stopped() {
		value[i] = min(value[i], reach)
		return
	}
	s.ub, s.best = value[i], nil
	s.around(i, len(s.base)+1)
	to, _ := s.g.near(i)
	s.improve(append(slices.Clone(s.base), i), slices.Clone(to))
	for _, j := range s.best {
		value[j] = min(value[j], s.ub)
	}
	if s.m.Stopped() {
		value[i] = min(value[i], reach)
	}
}

// gather fills s.near with the nearest neighbours of i within limit, at most so
// many.
func (s *search) gather(i, limit int32, most int) {
	s.near = s.near[:0]
	to, gap := s.g.near(i)
	for e, j := range to {
		if gap[e] <= limit {
			s.keepNear(nearRow{gap[e], j}, most)
		}
	}
	s.m.spend(int64(2 * len(to)))
}

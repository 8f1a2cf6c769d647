package pick

// anchored gives for every row in use the worst span of the best group of k
// that contains it, where that is at most limit; else a value above limit.
// Where the meter stops the search, the values are lower bounds.
//
// The bounds on several groups rest on it: the first q of m disjoint groups
// hold qk rows, so the q-th best group spans at least as much as the qk-th
// smallest of these values.
func anchored(f *field, g *graph, k int, limit int32, m *Meter) []int32 {
	s := newSearch(f, k, nil, m)
	s.g = g
	reach := make([]int32, f.n) // lower bound: distance of the (k-1)-th neighbour
	upper := make([]int32, f.n)
	for i := range upper {
		upper[i] = limit + 1
		reach[i] = s.reachOf(int32(i), limit)
	}
	for i := range int32(f.n) {
		if reach[i] > limit {
			continue
		}
		if m.Stopped() {
			upper[i] = reach[i]
			continue
		}
		s.ub, s.best = upper[i], nil
		to, _ := g.near(i)
		s.improve([]int32{i}, append([]int32(nil), to...))
		for _, j := range s.best {
			upper[j] = min(upper[j], s.ub)
		}
		if m.Stopped() {
			upper[i] = reach[i]
		}
	}
	return upper
}

// reachOf is the distance within which row i has k-1 others, or more than
// limit. It leaves them in s.near and offers no group.
func (s *search) reachOf(i, limit int32) int32 {
	if s.k == 1 {
		return 0
	}
	s.near = s.near[:0]
	to, gap := s.g.near(i)
	for e, j := range to {
		if gap[e] <= limit {
			s.keepNear(nearRow{gap[e], j}, s.k-1)
		}
	}
	s.m.spend(int64(2 * len(to)))
	if len(s.near) < s.k-1 {
		return limit + 1
	}
	return s.near[s.k-2].gap
}

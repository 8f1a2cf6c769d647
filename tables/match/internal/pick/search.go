package pick

import "slices"

// A search looks for the best group of k rows that contains base.
type search struct {
	f     *field
	g     *graph
	local *local
	m     *Meter
	k     int
	base  []int32 // rows that belong to every group
	ub    int32   // worst span of best
	best  []int32
	near  []nearRow
}

type nearRow struct {
	gap int32
	row int32
}

func newSearch(f *field, k int, base []int32, m *Meter) *search {
	return &search{f: f, local: newLocal(f.n), m: m, k: k, base: base, ub: removed - 1}
}

// need is how many rows a group has beside its base.
func (s *search) need() int { return s.k - len(s.base) }

// offer takes a group as the best if it is better.
func (s *search) offer(group []int32) {
	if worst := s.f.worst(group); worst < s.ub {
		s.ub, s.best = worst, slices.Clone(group)
	}
}

// improve lowers ub to the best group that contains fixed and takes its other
// members from cand, all of which are neighbours of the last of fixed. It
// proves that none is better, unless the meter stops it.
func (s *search) improve(fixed, cand []int32) {
	for s.f.worst(fixed) < s.ub && !s.m.Stopped() {
		cand = slices.DeleteFunc(cand, func(i int32) bool {
			return slices.ContainsFunc(fixed, func(j int32) bool { return s.f.dist(i, j, s.ub) >= s.ub })
		})
		s.m.spend(int64(len(cand) * len(fixed) * s.f.d))
		if len(fixed)+len(cand) < s.k {
			return
		}
		s.local.build(s.g, cand, s.ub-1, s.m)
		all := s.local.all()
		found, rest := s.local.clique(all, s.k-len(fixed), slices.Clone(fixed), s.m)
		s.local.give(all)
		if found == nil {
			return
		}
		s.offer(shrink(s.f, found, s.k, len(s.base)))
		s.offer(shrink(s.f, append(found, rest...), s.k, len(fixed)))
	}
}

// around offers the groups of a row and the rows nearest to it, given in
// s.near by rising distance, up to twice as many as needed.
func (s *search) around(i int32, fixed int) {
	need := s.need() - 1
	if len(s.near) < need || need > 0 && s.near[need-1].gap >= s.ub {
		return
	}
	group := append(slices.Clone(s.base), i)
	for at, r := range s.near {
		if at == need {
			s.offer(group)
		}
		group = append(group, r.row)
	}
	s.m.spend(int64(len(s.near) * len(group) * s.f.d))
	s.offer(shrink(s.f, group, s.k, fixed))
}

// keepNear puts a row among the nearest seen, at most limit of them.
func (s *search) keepNear(r nearRow, limit int) {
	at := len(s.near)
	if at == limit {
		if at == 0 || r.gap >= s.near[at-1].gap {
			return
		}
		at--
	} else {
		s.near = append(s.near, r)
	}
	for ; at > 0 && s.near[at-1].gap > r.gap; at-- {
		s.near[at] = s.near[at-1]
	}
	s.near[at] = r
}

// shrink drops rows until k are left: each time of the widest column's two
// extremes the one whose removal narrows it more. The first fixed rows stay.
func shrink(f *field, group []int32, k, fixed int) []int32 {
	group = slices.Clone(group)
	b := newBox(f.d)
	for len(group) > k {
		b.clear()
		for _, i := range group {
			b.add(f.row(i))
		}
		drop := looser(f, group, widest(b), fixed)
		group[drop] = group[len(group)-1]
		group = group[:len(group)-1]
	}
	return group
}

func widest(b box) int {
	at := 0
	for j := range b.lo {
		if b.hi[j]-b.lo[j] > b.hi[at]-b.lo[at] {
			at = j
		}
	}
	return at
}

// looser gives the place in group of the extreme of column j that stands
// farther from the others. Where both extremes are fixed it gives the last row.
func looser(f *field, group []int32, j, fixed int) int {
	lo, hi := 0, 0
	lo2, hi2 := int32(1<<31-1), int32(-1<<31) // next to the extremes
	value := func(at int) int32 { return f.x[int(group[at])*f.d+j] }
	for at := 1; at < len(group); at++ {
		if v := value(at); v < value(lo) {
			lo, lo2 = at, value(lo)
		} else {
			lo2 = min(lo2, v)
		}
		if v := value(at); v > value(hi) {
			hi, hi2 = at, value(hi)
		} else {
			hi2 = max(hi2, v)
		}
	}
	below, above := lo2-value(lo), value(hi)-hi2
	switch {
	case lo >= fixed && (below >= above || hi < fixed):
		return lo
	case hi >= fixed:
		return hi
	}
	return len(group) - 1
}

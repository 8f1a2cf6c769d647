package pick

import (
	"cmp"
	"slices"
)

// NextBest finds the best group other than rows that contains keep and has none
// of leave. It reports false when there is no other. The proof is of the worst
// span alone; of groups equal in it, one that differs from rows in a single row
// comes before others, and of those the first in rank.
func NextBest(m Matrix, rows, keep, leave []int, meter *Meter) (Group, bool) {
	f := newField(m, without(m.n, leave))
	s := newSearch(f, len(rows), f.places(keep), meter)
	s.exchangeOne(f.places(rows))
	if s.best == nil {
		return Group{}, false
	}
	lower, proven := f.worst(s.base), s.ub <= f.worst(s.base)
	if !proven {
		lower, proven = s.scanWithoutEach(f.places(rows))
	}
	if proven {
		lower = s.ub
	}
	s.rankExchanges(f.places(rows))
	return Group{Rows: f.callers(s.best), Worst: s.ub, Lower: lower}, true
}

// exchangeOne offers the groups that differ from this one in a single row.
func (s *search) exchangeOne(group []int32) {
	for at, i := range group {
		if slices.Contains(s.base, i) {
			continue
		}
		other := slices.Clone(group)
		for j := range int32(s.f.n) {
			if !slices.Contains(group, j) {
				other[at] = j
				s.offer(other)
			}
		}
		s.m.spend(int64(s.f.n * len(group) * s.f.d))
	}
}

// rankExchanges replaces the best by the first in rank of the groups that are
// equal to it in the worst span and differ from this one in a single row.
func (s *search) rankExchanges(group []int32) {
	var first rank
	found := false
	b := newBox(s.f.d)
	for at, i := range group {
		if slices.Contains(s.base, i) {
			continue
		}
		b.clear()
		other := slices.Delete(slices.Clone(group), at, at+1)
		for _, o := range other {
			b.add(s.f.row(o))
		}
		for j := range int32(s.f.n) {
			worst, r := rankOf(b, s.f.row(j))
			if worst != s.ub || found && r.compare(first) > 0 || slices.Contains(group, j) {
				continue
			}
			if with := append(slices.Clone(other), j); !found || r.compare(first) < 0 || s.lower(with, s.best) {
				found, first, s.best = true, r, with
			}
		}
	}
}

// lower tells whether group a has lower rows than b, as the caller counts.
func (s *search) lower(a, b []int32) bool {
	return slices.Compare(s.f.callers(a), s.f.callers(b)) < 0
}

// scanWithoutEach searches the groups that lack one row of this one: every
// other group does.
func (s *search) scanWithoutEach(group []int32) (lower int32, proven bool) {
	floor := s.f.worst(s.base)
	allowed := s.allowed()
	if s.g = newGraph(s.f, s.ub, allowed, s.m); s.g == nil {
		return floor, false
	}
	lower = s.ub
	for _, i := range group {
		if slices.Contains(s.base, i) {
			continue
		}
		was := allowed[i]
		allowed[i] = false
		bound, done := s.scan(allowed)
		allowed[i] = was
		if !done {
			return floor, false
		}
		lower = min(lower, bound)
	}
	return lower, true
}

// A Fit is a row with the worst span of a group that it joins or enters.
type Fit struct {
	Row   int
	Worst int32
}

// Joining ranks the rows that are neither in group nor in leave by how well they
// fit: by the worst span of the group with the row added, then by its next-worst
// span and sum of spans, then by row.
func Joining(m Matrix, group, leave []int) []Fit {
	type entry struct {
		Fit
		rank
	}
	b := newBox(m.d)
	for _, i := range group {
		b.add(m.row(int32(i)))
	}
	var list []entry
	for _, i := range without(m.n, append(slices.Clone(leave), group...)) {
		worst, r := rankOf(b, m.row(i))
		list = append(list, entry{Fit{int(i), worst}, r})
	}
	slices.SortFunc(list, func(a, b entry) int {
		return cmp.Or(cmp.Compare(a.Worst, b.Worst), a.rank.compare(b.rank), cmp.Compare(a.Row, b.Row))
	})
	fits := make([]Fit, len(list))
	for at, e := range list {
		fits[at] = e.Fit
	}
	return fits
}

package seat

import "math/bits"

// within finds the best order of the units for one split, as long as it is
// better than the best known: it asks for a circle in which all neighbours
// differ by less than would be needed, until there is none.
func (s *search) within(p split) {
	if s.Order == nil {
		s.adoptAny(p)
		return
	}
	for !s.stopped() {
		// The largest difference of neighbours with which the cost is lower.
		limit := (int64(s.cost) - p.cost - 1) / s.scale
		circle := s.circle(p, limit)
		if circle == nil {
			return
		}
		unit := make([]int, s.n)
		for at, u := range circle {
			unit[s.Order[at]] = u
		}
		s.unit, s.cost = unit, s.Cost(s.x, unit)
	}
}

// adoptAny seats the units of each bank in their order.
func (s *search) adoptAny(p split) {
	unit := make([]int, s.n)
	left := append([]uint16(nil), p.banks...)
	for seat, b := range s.Banks {
		unit[seat] = bits.TrailingZeros16(left[b])
		left[b] &= left[b] - 1
	}
	s.unit, s.cost = unit, s.Cost(s.x, unit)
}

// circle looks for units for the places of the firing order, each of its
// place's bank, in which no neighbours differ by more than limit; nil if there
// is none.
func (s *search) circle(p split, limit int64) []int {
	next := s.nextUnits(p, limit)
	for m := p.banks[s.inBank[0]]; m != 0; m &= m - 1 {
		if circle := s.from(bits.TrailingZeros16(m), next); circle != nil || s.stopped() {
			return circle
		}
	}
	return nil
}

// nextUnits gives for each place and unit the units that may follow.
func (s *search) nextUnits(p split, limit int64) [][MaxProven]uint16 {
	next := make([][MaxProven]uint16, s.n)
	for at := range s.n {
		after := p.banks[s.inBank[(at+1)%s.n]]
		for m := p.banks[s.inBank[at]]; m != 0; m &= m - 1 {
			u := bits.TrailingZeros16(m)
			for f := after &^ (1 << u); f != 0; f &= f - 1 {
				if v := bits.TrailingZeros16(f); s.near[at][u][v] <= limit {
					next[at][u] |= 1 << v
				}
			}
		}
	}
	s.budget -= int64(s.n * s.n * 10)
	return next
}

// from looks for a circle that starts with one unit. It walks the places in
// order and keeps, for each set of units seated so far, which may sit last.
func (s *search) from(start int, next [][MaxProven]uint16) []int {
	levels := [][]uint16{{1 << start}}
	s.visited[1<<start] = 1 << start
	for at := 0; at+1 < s.n && len(levels[at]) > 0; at++ {
		var reached []uint16
		for _, set := range levels[at] {
			for m := s.visited[set]; m != 0; m &= m - 1 {
				for f := next[at][bits.TrailingZeros16(m)] &^ set; f != 0; f &= f - 1 {
					unit := f & -f
					if s.visited[set|unit] == 0 {
						reached = append(reached, set|unit)
					}
					s.visited[set|unit] |= unit
				}
			}
		}
		s.budget -= int64(20 * len(reached))
		levels = append(levels, reached)
	}
	circle := s.trace(start, next)
	for _, level := range levels {
		for _, set := range level {
			s.visited[set] = 0
		}
	}
	return circle
}

// trace reads a circle out of visited, from its end.
func (s *search) trace(start int, next [][MaxProven]uint16) []int {
	set := uint16(1<<s.n - 1)
	if s.n == 1 {
		return []int{start}
	}
	last := -1
	for m := s.visited[set]; m != 0; m &= m - 1 {
		if u := bits.TrailingZeros16(m); next[s.n-1][u]&(1<<start) != 0 {
			last = u
			break
		}
	}
	if last < 0 {
		return nil
	}
	circle := make([]int, s.n)
	for at := s.n - 1; ; at-- {
		circle[at] = last
		if at == 0 {
			return circle
		}
		set &^= 1 << last
		for m := s.visited[set]; m != 0; m &= m - 1 {
			if u := bits.TrailingZeros16(m); next[at-1][u]&(1<<last) != 0 {
				last = u
				break
			}
		}
	}
}

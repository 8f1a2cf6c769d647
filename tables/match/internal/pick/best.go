package pick

import "slices"

// A Group is a set of rows with what has been proven of it.
type Group struct {
	Rows   []int // ascending
	Worst  int32 // worst span
	Lower  int32 // no group of this size has a smaller worst span; equal to Worst when proven
	Unique bool  // the tie rule was carried through, so no other group ranks before this one
}

// Proven tells whether no group is better in the worst span.
func (g Group) Proven() bool { return g.Lower >= g.Worst }

// anchors is how many rows are tried, evenly spaced, to get a first group.
const anchors = 32

// Best finds the group of k rows with the smallest worst span, among those that
// contain all rows of keep and none of leave. Of groups that are equal in it,
// the one with the smallest next-worst span ranks first, then the smallest sum
// of spans, then the lowest rows. It needs 1 ≤ k ≤ rows left, len(keep) ≤ k,
// and keep apart from leave; anything else is a mistake of the program.
func Best(m Matrix, k int, keep, leave []int, meter *Meter) Group {
	s := start(m, k, keep, leave, meter)
	lower, proven := s.prove()
	group := Group{Worst: s.ub, Lower: s.ub}
	if !proven {
		group.Lower = lower
	} else {
		group.Unique = s.breakTies()
	}
	group.Rows = s.f.callers(s.best)
	return group
}

// start lays out the rows and makes a first group. It panics on a size that no group can
// have, which callers refuse in words before.
func start(m Matrix, k int, keep, leave []int, meter *Meter) *search {
	f := newField(m, without(m.n, leave))
	if k < 1 || k > f.n || len(keep) > k {
		panic("pick: impossible size of group")
	}
	s := newSearch(f, k, f.places(keep), meter)
	s.firstGroup()
	return s
}

func without(n int, leave []int) []int32 {
	out := make([]bool, n)
	for _, i := range leave {
		out[i] = true
	}
	use := make([]int32, 0, n)
	for i := range out {
		if !out[i] {
			use = append(use, int32(i))
		}
	}
	return use
}

// firstGroup tries evenly spaced rows with their nearest.
func (s *search) firstGroup() {
	if s.need() == 0 {
		s.offer(s.base)
		return
	}
	others := make([]int32, 0, s.f.n)
	for i := range int32(s.f.n) {
		if !slices.Contains(s.base, i) {
			others = append(others, i)
		}
	}
	for a := range anchors {
		i := others[a*len(others)/anchors]
		s.near = s.near[:0]
		for _, j := range others {
			if j != i {
				s.keepNear(nearRow{s.fromBase(i, j), j}, 2*s.need())
			}
		}
		if s.m.spend(int64(len(others)*(s.f.d+2))) && s.best != nil {
			return
		}
		s.around(i, len(s.base))
	}
}

// fromBase is the distance of j from i and from the base, at least ub if that
// is too far.
func (s *search) fromBase(i, j int32) int32 {
	gap := s.f.dist(i, j, s.ub)
	for _, b := range s.base {
		gap = max(gap, s.f.dist(b, j, s.ub))
	}
	return gap
}

// prove lowers ub to the optimum. Where the meter stops it, the result is a
// lower bound on the worst span of every group.
func (s *search) prove() (lower int32, proven bool) {
	floor := s.f.worst(s.base)
	if s.ub <= floor {
		return s.ub, true
	}
	allowed := s.allowed()
	s.g = newGraph(s.f, s.ub, allowed, s.m)
	if s.g == nil || s.m.Stopped() {
		return floor, false
	}
	s.nearLists(allowed)
	return s.scan(allowed)
}

// scan lowers ub to the optimum among the allowed rows: each row in turn is
// taken as the first of a group in the order of peelOrder, so that the others
// come after it.
func (s *search) scan(allowed []bool) (lower int32, proven bool) {
	floor := s.f.worst(s.base)
	order := peelOrder(s.g, allowed, s.ub)
	alive := slices.Clone(allowed)
	fixed := append(slices.Clone(s.base), 0)
	var cand []int32
	for at, v := range order {
		cand = s.nearAlive(cand[:0], v, alive)
		if len(cand) >= s.need()-1 {
			fixed[len(fixed)-1] = v
			s.improve(fixed, cand)
		}
		if s.ub <= floor {
			return s.ub, true
		}
		if s.m.Stopped() {
			return max(floor, s.aliveBound(order[at:], alive)), false
		}
		alive[v] = false
	}
	return s.ub, true
}

// nearAlive lists the rows still alive that are nearer to v than ub.
func (s *search) nearAlive(list []int32, v int32, alive []bool) []int32 {
	to, gap := s.g.near(v)
	for e, j := range to {
		if alive[j] && gap[e] < s.ub {
			list = append(list, j)
		}
	}
	s.m.spend(int64(len(to)))
	return list
}

// allowed marks the rows that may join the base at ub.
func (s *search) allowed() []bool {
	ok := make([]bool, s.f.n)
	for i := range ok {
		ok[i] = !slices.ContainsFunc(s.base, func(b int32) bool {
			return b == int32(i) || s.f.dist(b, int32(i), s.ub) > s.ub
		})
	}
	return ok
}

// nearLists tries every row with the nearest of its neighbours.
func (s *search) nearLists(allowed []bool) {
	for i := range int32(s.f.n) {
		if !allowed[i] {
			continue
		}
		s.gather(i, s.ub-1, 2*s.need())
		s.around(i, len(s.base))
		if s.m.Stopped() {
			return
		}
	}
}

// aliveBound is the smallest distance within which a row still alive has the
// neighbours that a group needs: every group not yet refuted spans as much.
func (s *search) aliveBound(left []int32, alive []bool) int32 {
	lower := s.ub
	need := s.need() - 1
	for _, v := range left {
		s.near = s.near[:0]
		to, gap := s.g.near(v)
		for e, j := range to {
			if alive[j] && gap[e] < s.ub {
				s.keepNear(nearRow{gap[e], j}, need)
			}
		}
		if len(s.near) < need {
			continue
		}
		reach := int32(0)
		if need > 0 {
			reach = s.near[need-1].gap
		}
		lower = min(lower, reach)
	}
	return lower
}

// peelOrder lists the rows so that each has the fewest neighbours nearer than
// limit among itself and those after it.
func peelOrder(g *graph, allowed []bool, limit int32) []int32 {
	n := len(allowed)
	degree, gone := make([]int32, n), make([]bool, n)
	most := int32(0)
	for i := range int32(n) {
		_, gap := g.near(i)
		for _, d := range gap {
			if d < limit {
				degree[i]++
			}
		}
		most = max(most, degree[i])
	}
	bins := make([][]int32, most+1)
	for i := range int32(n) {
		gone[i] = !allowed[i]
		bins[degree[i]] = append(bins[degree[i]], i)
	}
	order := make([]int32, 0, n)
	for at := 0; at <= int(most); {
		size := len(bins[at])
		if size == 0 {
			at++
			continue
		}
		v := bins[at][size-1]
		bins[at] = bins[at][:size-1]
		if gone[v] || int(degree[v]) != at {
			continue // an old entry
		}
		gone[v] = true
		order = append(order, v)
		to, gap := g.near(v)
		for e, j := range to {
			if gap[e] < limit && !gone[j] {
				degree[j]--
				bins[degree[j]] = append(bins[degree[j]], j)
				at = min(at, int(degree[j]))
			}
		}
	}
	return order
}

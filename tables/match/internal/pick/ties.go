package pick

import (
	"cmp"
	"slices"
)

// A rank orders groups that are equal in the worst span. Both parts can only
// grow when a row is added, which is what the search prunes by.
type rank struct {
	second int32 // next-worst span
	sum    int64 // of all spans
}

func (a rank) compare(b rank) int {
	return cmp.Or(cmp.Compare(a.second, b.second), cmp.Compare(a.sum, b.sum))
}

// rankOf gives worst span and rank of the box when row is added to it; row may
// be nil.
func rankOf(b box, row []int32) (int32, rank) {
	var worst, second int32
	var sum int64
	for j := range b.lo {
		lo, hi := b.lo[j], b.hi[j]
		if row != nil {
			lo, hi = min(lo, row[j]), max(hi, row[j])
		}
		span := hi - lo
		if lo > hi {
			span = 0
		}
		sum += int64(span)
		if span > worst {
			worst, second = span, worst
		} else {
			second = max(second, span)
		}
	}
	return worst, rank{second, sum}
}

// tieWork bounds the search among equal groups.
const tieWork = 2_000_000_000

// A tieSearch looks through the groups whose worst span is ub, the optimum.
type tieSearch struct {
	*search
	m        *Meter
	rank     rank
	rows     []int             // of the best, as the caller counts
	searched map[[2]int32]bool // pairs at distance ub whose groups are done
	boxes    []box             // by number of rows chosen
}

// breakTies replaces the best by the first in rank of all groups equal to it in
// the worst span. It tells whether the search came to its end.
func (s *search) breakTies() bool {
	if s.need() == 0 {
		return true
	}
	t := &tieSearch{search: s, m: s.m.share(tieWork), searched: map[[2]int32]bool{}}
	t.boxes = make([]box, s.k+1)
	for i := range t.boxes {
		t.boxes[i] = newBox(s.f.d)
	}
	t.adopt(s.best)
	if s.ub <= s.f.worst(s.base) {
		t.within(s.base, t.others())
	} else {
		t.throughPairs()
	}
	s.m.join(t.m)
	s.best = s.f.places(t.rows)
	return !t.m.Stopped()
}

func (t *tieSearch) adopt(group []int32) {
	b := t.boxes[0]
	b.clear()
	for _, i := range group {
		b.add(t.f.row(i))
	}
	_, t.rank = rankOf(b, nil)
	t.rows = t.f.callers(group)
	b.clear()
}

func (t *tieSearch) others() []int32 {
	var list []int32
	for i := range int32(t.f.n) {
		if !slices.Contains(t.base, i) {
			list = append(list, i)
		}
	}
	return list
}

// throughPairs searches the groups by the pair of rows at distance ub that each
// of them holds: first the pairs with a row of the base, then the others.
func (t *tieSearch) throughPairs() {
	done := t.throughBase()
	pairs := t.tightPairs(done)
	for _, p := range pairs {
		if t.m.spend(1) {
			return
		}
		if t.outranked(p.rank, append(slices.Clone(t.base), p.a, p.b)) {
			continue
		}
		var cand []int32
		both(t.g, p.a, p.b, t.ub, func(i int32) {
			if !done[i] {
				cand = append(cand, i)
			}
		})
		t.within(append(slices.Clone(t.base), p.a, p.b), cand)
		t.searched[[2]int32{p.a, p.b}] = true
	}
}

// throughBase searches the groups with a row at distance ub from the base, and
// marks those rows.
func (t *tieSearch) throughBase() []bool {
	done := make([]bool, t.f.n)
	for _, i := range t.base {
		done[i] = true
	}
	for _, b := range t.base {
		for i := range int32(t.f.n) {
			if done[i] || t.f.dist(b, i, t.ub) != t.ub {
				continue
			}
			to, _ := t.g.near(i)
			cand := slices.DeleteFunc(slices.Clone(to), func(j int32) bool { return done[j] })
			t.within(append(slices.Clone(t.base), i), cand)
			done[i] = true
		}
	}
	return done
}

type tightPair struct {
	a, b int32
	rank rank
}

// tightPairs lists the pairs at distance ub, the most promising first.
func (t *tieSearch) tightPairs(done []bool) []tightPair {
	var pairs []tightPair
	b := newBox(t.f.d)
	for i := range int32(t.f.n) {
		to, gap := t.g.near(i)
		for e, j := range to {
			if gap[e] != t.ub || j < i || done[i] || done[j] {
				continue
			}
			b.clear()
			b.add(t.f.row(i))
			_, r := rankOf(b, t.f.row(j))
			pairs = append(pairs, tightPair{i, j, r})
		}
	}
	slices.SortStableFunc(pairs, func(a, b tightPair) int { return a.rank.compare(b.rank) })
	return pairs
}

// outranked tells whether no group that holds these rows and whose rank is at
// least r can rank before the best, even with the lowest rows beside them.
func (t *tieSearch) outranked(r rank, chosen []int32) bool {
	if c := r.compare(t.rank); c != 0 {
		return c > 0
	}
	rows := t.f.callers(chosen)
	for i := 0; len(rows) < t.k; i++ {
		if t.f.pos[i] >= 0 && !slices.Contains(rows, i) {
			rows = append(rows, i)
		}
	}
	slices.Sort(rows)
	return slices.Compare(rows, t.rows) >= 0
}

// within searches the groups of chosen and rows of cand.
func (t *tieSearch) within(chosen, cand []int32) {
	b := t.boxes[len(chosen)]
	b.clear()
	for _, i := range chosen {
		b.add(t.f.row(i))
	}
	t.extend(chosen, b, cand)
}

type ranked struct {
	row  int32
	rank rank
}

// extend searches the groups of the chosen rows, which span b, and rows of cand.
func (t *tieSearch) extend(chosen []int32, b box, cand []int32) {
	t.m.Nodes++
	need := t.k - len(chosen)
	if need == 0 {
		t.take(chosen, b)
		return
	}
	list := t.fitting(b, cand)
	if t.m.spend(int64(len(cand) * (t.f.d + 8))) {
		return
	}
	rest := make([]int32, len(list))
	for at, r := range list {
		rest[at] = r.row
	}
	for at := 0; at+need <= len(list); at++ {
		// A group takes need of the rest, so it ranks no better than the last
		// of the best need of them.
		limit := list[at+need-1].rank
		if c := limit.compare(t.rank); c > 0 || c == 0 && t.lowest(chosen, rest[at:]) {
			return
		}
		v := list[at].row
		next := t.boxes[len(chosen)+1]
		next.copyFrom(b)
		next.add(t.f.row(v))
		t.extend(append(chosen, v), next, t.compatible(v, rest[at+1:]))
		if t.m.Stopped() {
			return
		}
	}
}

// fitting lists the candidates that stay within ub and may rank before the
// best, best rank first, then lowest row.
func (t *tieSearch) fitting(b box, cand []int32) []ranked {
	list := make([]ranked, 0, len(cand))
	for _, i := range cand {
		worst, r := rankOf(b, t.f.row(i))
		if worst <= t.ub && r.compare(t.rank) <= 0 {
			list = append(list, ranked{i, r})
		}
	}
	slices.SortFunc(list, func(a, b ranked) int {
		return cmp.Or(a.rank.compare(b.rank), cmp.Compare(t.f.id[a.row], t.f.id[b.row]))
	})
	return list
}

// compatible drops the rows that form a pair with v whose groups are done.
func (t *tieSearch) compatible(v int32, rows []int32) []int32 {
	if len(t.searched) == 0 {
		return rows
	}
	return slices.DeleteFunc(slices.Clone(rows), func(i int32) bool {
		return t.f.dist(v, i, t.ub) == t.ub && t.searched[[2]int32{min(v, i), max(v, i)}]
	})
}

// lowest tells whether chosen with the lowest of rest is not before the best.
func (t *tieSearch) lowest(chosen, rest []int32) bool {
	t.near = t.near[:0]
	for _, i := range rest {
		t.keepNear(nearRow{t.f.id[i], i}, t.k-len(chosen))
	}
	t.m.spend(int64(2 * len(rest)))
	rows := t.f.callers(chosen)
	for _, r := range t.near {
		rows = append(rows, int(r.gap))
	}
	slices.Sort(rows)
	return slices.Compare(rows, t.rows) >= 0
}

func (t *tieSearch) take(group []int32, b box) {
	_, r := rankOf(b, nil)
	rows := t.f.callers(group)
	if c := r.compare(t.rank); c < 0 || c == 0 && slices.Compare(rows, t.rows) < 0 {
		t.rank, t.rows = r, rows
	}
}

// both visits the rows that are within limit of a and of b.
func both(g *graph, a, b, limit int32, visit func(int32)) {
	ta, ga := g.near(a)
	tb, gb := g.near(b)
	for i, j := 0, 0; i < len(ta) && j < len(tb); {
		switch c := cmp.Compare(ta[i], tb[j]); {
		case c < 0:
			i++
		case c > 0:
			j++
		default:
			if ga[i] <= limit && gb[j] <= limit {
				visit(ta[i])
			}
			i++
			j++
		}
	}
}

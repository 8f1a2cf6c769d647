package pick

import "slices"

// A local graph is the part of a graph among a few rows, as a bit matrix.
type local struct {
	member []int32  // the rows, by local number
	words  int      // 64-bit words in a row of bits
	adj    []uint64 // adj[v*words:] are the neighbours of v
	mark   []int32  // by row of the field: local number + 1
	pool   [][]uint64
}

func newLocal(rows int) *local { return &local{mark: make([]int32, rows)} }

// build links the members at distances of at most limit.
func (l *local) build(g *graph, members []int32, limit int32, m *Meter) {
	l.member = append(l.member[:0], members...)
	if words := (len(members) + 63) / 64; words != l.words {
		l.words, l.pool = words, nil
	}
	l.adj = resized(l.adj, len(members)*l.words)
	for v, i := range members {
		l.mark[i] = int32(v) + 1
	}
	for v, i := range members {
		row := l.row(v)
		to, gap := g.near(i)
		for e, j := range to {
			if at := l.mark[j]; at > 0 && gap[e] <= limit {
				put(row, int(at-1))
			}
		}
		m.spend(int64(len(to)))
	}
	for _, i := range members {
		l.mark[i] = 0
	}
}

func (l *local) row(v int) []uint64 { return l.adj[v*l.words:][:l.words] }

func (l *local) all() []uint64 {
	s := l.take()
	for v := range l.member {
		put(s, v)
	}
	return s
}

// take and give keep a pool of cleared-on-take bit sets.
func (l *local) take() []uint64 {
	if n := len(l.pool); n > 0 {
		s := l.pool[n-1]
		l.pool = l.pool[:n-1]
		clear(s)
		return s
	}
	return make([]uint64, l.words)
}

func (l *local) give(s []uint64) { l.pool = append(l.pool, s) }

// rows lists the members in a bit set.
func (l *local) rows(s []uint64) []int32 {
	var list []int32
	for v := range each(s) {
		list = append(list, l.member[v])
	}
	return list
}

// clique looks for need members of cand that are all neighbours. It returns
// chosen with the rows found, and the candidates left that are neighbours of
// all of them; or nil when there is none or the meter stopped the search.
func (l *local) clique(cand []uint64, need int, chosen []int32, m *Meter) (found, rest []int32) {
	m.Nodes++
	chosen, need = l.reduce(cand, need, chosen, m)
	if need <= 0 {
		return slices.Clone(chosen), l.rows(cand)
	}
	if count(cand) < need {
		return nil, nil
	}
	order, colour := l.colouring(cand, m)
	next := l.take()
	defer l.give(next)
	for at := len(order) - 1; at >= 0; at-- {
		// The vertices before this one need so many colours, so no clique
		// among them is larger.
		if int(colour[at]) < need || m.spend(int64(l.words)) {
			return nil, nil
		}
		v := int(order[at])
		drop(cand, v)
		if and(next, cand, l.row(v)) < need-1 {
			continue
		}
		found, rest = l.clique(next, need-1, append(chosen, l.member[v]), m)
		if found != nil || m.stopped {
			return found, rest
		}
	}
	return nil, nil
}

// reduce drops candidates with too few neighbours and chooses those that are
// neighbours of all others, which costs nothing: a clique without such a vertex
// has one of its members exchanged for it.
func (l *local) reduce(cand []uint64, need int, chosen []int32, m *Meter) ([]int32, int) {
	for changed := true; changed && need > 0; {
		changed = false
		left := count(cand)
		if left < need {
			return chosen, need
		}
		m.spend(int64(left * l.words))
		for v := range each(cand) {
			degree := overlap(cand, l.row(v))
			switch {
			case degree < need-1:
				drop(cand, v)
				left--
				changed = true
			case degree == left-1:
				drop(cand, v)
				chosen = append(chosen, l.member[v])
				left--
				need--
				changed = true
			}
			if need <= 0 {
				break
			}
		}
	}
	return chosen, need
}

// colouring gives the candidates colours 1, 2, … so that neighbours differ, and
// lists them by colour.
func (l *local) colouring(cand []uint64, m *Meter) (order, colour []int32) {
	n := count(cand)
	order, colour = make([]int32, 0, n), make([]int32, 0, n)
	left, class := l.take(), l.take()
	defer l.give(left)
	defer l.give(class)
	copy(left, cand)
	for c := int32(1); len(order) < n; c++ {
		copy(class, left)
		for v := first(class, 0); v >= 0; v = first(class, v>>6) {
			drop(class, v)
			drop(left, v)
			for w, b := range l.row(v) {
				class[w] &^= b
			}
			order = append(order, int32(v))
			colour = append(colour, c)
		}
	}
	m.spend(int64(n * l.words))
	return order, colour
}

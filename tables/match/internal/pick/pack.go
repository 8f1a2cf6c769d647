package pick

import (
	"cmp"
	"encoding/binary"
	"slices"
)

// A packer decides whether disjoint k-cliques can be packed into a graph.
type packer struct {
	n, k   int
	adj    [][]uint64
	kept   []uint64 // must be covered
	m      *Meter
	failed map[string]int // rows left: the smallest number of groups that did not fit
	key    []byte         // scratch of keyOf
	groups [][]int        // found, the last first
}

const maxFailed = 1 << 20 // entries of the memory of failures

func newPacker(n, k int, kept []uint64, m *Meter) *packer {
	return &packer{n: n, k: k, kept: kept, m: m, failed: map[string]int{}}
}

// pack tells whether groups disjoint k-cliques among alive cover all kept rows,
// and then leaves them in p.groups. A false means no only if the meter has not
// stopped.
func (p *packer) pack(alive []uint64, groups int) bool {
	p.m.Nodes++
	if !p.peel(alive) || p.m.Stopped() {
		return false
	}
	kept := overlap(alive, p.kept)
	if groups == 0 {
		return kept == 0
	}
	if count(alive) < groups*p.k || kept > groups*p.k || p.failedBefore(alive, groups) {
		return false
	}
	v := p.hardest(alive, kept > 0)
	cand := bitset(p.n)
	and(cand, alive, p.adj[v])
	if p.choose(alive, cand, []int{v}, groups) {
		return true
	}
	if !has(p.kept, v) && !p.m.Stopped() {
		rest := slices.Clone(alive)
		drop(rest, v)
		if p.pack(rest, groups) {
			return true
		}
	}
	p.remember(alive, groups)
	return false
}

// peel drops the rows that have too few neighbours to be in a clique. It
// reports false if that drops a kept one.
func (p *packer) peel(alive []uint64) bool {
	for changed := true; changed; {
		changed = false
		p.m.spend(int64(count(alive) * len(alive)))
		for v := range each(alive) {
			if overlap(alive, p.adj[v]) >= p.k-1 {
				continue
			}
			if has(p.kept, v) {
				return false
			}
			drop(alive, v)
			changed = true
		}
	}
	return true
}

// hardest is the row with the fewest neighbours; a kept one if there are any.
func (p *packer) hardest(alive []uint64, kept bool) int {
	best, fewest := -1, p.n+1
	for v := range each(alive) {
		if kept && !has(p.kept, v) {
			continue
		}
		if d := overlap(alive, p.adj[v]); d < fewest {
			best, fewest = v, d
		}
	}
	return best
}

// choose tries every clique of chosen and rows of cand as one of the groups.
func (p *packer) choose(alive, cand []uint64, chosen []int, groups int) bool {
	need := p.k - len(chosen)
	if need == 0 {
		rest := slices.Clone(alive)
		for _, v := range chosen {
			drop(rest, v)
		}
		if p.pack(rest, groups-1) {
			p.groups = append(p.groups, slices.Clone(chosen))
			return true
		}
		return false
	}
	next := bitset(p.n)
	for _, v := range p.byNeighbours(cand, alive, need) {
		if p.m.spend(int64(4 * len(next))) {
			return false
		}
		drop(cand, v)
		if and(next, cand, p.adj[v]) < need-1 {
			continue
		}
		if p.choose(alive, next, append(chosen, v), groups) {
			return true
		}
	}
	return false
}

// byNeighbours lists the candidates that have enough neighbours among
// themselves, those with the fewest neighbours among alive first: they are the
// hardest to place later.
func (p *packer) byNeighbours(cand, alive []uint64, need int) []int {
	type entry struct{ v, degree int }
	var list []entry
	for v := range each(cand) {
		if overlap(cand, p.adj[v]) >= need-1 {
			list = append(list, entry{v, overlap(alive, p.adj[v])})
		}
	}
	p.m.spend(int64(2 * count(cand) * len(cand)))
	slices.SortFunc(list, func(a, b entry) int {
		return cmp.Or(cmp.Compare(a.degree, b.degree), cmp.Compare(a.v, b.v))
	})
	order := make([]int, len(list))
	for i, e := range list {
		order[i] = e.v
	}
	return order
}

func (p *packer) failedBefore(alive []uint64, groups int) bool {
	least, ok := p.failed[string(p.keyOf(alive))]
	return ok && groups >= least
}

func (p *packer) remember(alive []uint64, groups int) {
	if p.m.Stopped() || len(p.failed) >= maxFailed {
		return
	}
	k := string(p.keyOf(alive))
	if least, ok := p.failed[k]; !ok || groups < least {
		p.failed[k] = groups
	}
}

func (p *packer) keyOf(alive []uint64) []byte {
	p.key = p.key[:0]
	for _, w := range alive {
		p.key = binary.LittleEndian.AppendUint64(p.key, w)
	}
	return p.key
}

package pick

import "slices"

// maxDivided is the most rows that divisions are searched among: the distances
// of all pairs are held.
const maxDivided = 4096

// A divider looks for divisions into groups that span at most limit.
type divider struct {
	m      *Meter
	k      int
	rows   []int   // of the caller, that may be in such a group
	alone  []int32 // worst span of the best group with each
	gaps   []int32 // distances of all pairs of rows
	values []int32 // the distances up to limit, ascending and different
	kept   []uint64
	keepLB int32 // no division with the kept rows is better
}

// newDivider returns nil where there are too many rows or pairs.
func newDivider(m Matrix, k int, limit int32, keep, leave []int, meter *Meter) *divider {
	f := newField(m, without(m.n, leave))
	g := newGraph(f, limit, nil, meter)
	if g == nil {
		return nil
	}
	v := &divider{m: meter, k: k}
	alone := anchored(f, g, k, nil, limit, meter)
	for at, c := range alone {
		isKept := slices.Contains(keep, int(f.id[at]))
		if isKept {
			v.keepLB = max(v.keepLB, c)
		}
		if c <= limit {
			v.rows = append(v.rows, int(f.id[at]))
		}
	}
	if len(v.rows) > maxDivided {
		return nil
	}
	slices.Sort(v.rows)
	v.kept = bitset(len(v.rows))
	for at, i := range v.rows {
		v.alone = append(v.alone, alone[f.pos[i]])
		if slices.Contains(keep, i) {
			put(v.kept, at)
		}
	}
	v.measure(m, limit)
	return v
}

// measure fills gaps and values.
func (v *divider) measure(m Matrix, limit int32) {
	n := len(v.rows)
	v.gaps = make([]int32, n*n)
	for a := range n {
		for b := range a {
			gap := m.dist(int32(v.rows[a]), int32(v.rows[b]), limit)
			v.gaps[a*n+b], v.gaps[b*n+a] = gap, gap
			if gap <= limit {
				v.values = append(v.values, gap)
			}
		}
	}
	v.m.spend(int64(n * n * m.d / 2))
	v.values = append(v.values, 0)
	slices.Sort(v.values)
	v.values = slices.Compact(v.values)
}

// lowest is the lower bound that the anchored values prove for the worst of so
// many groups.
func (v *divider) lowest(groups int) int32 {
	sorted := slices.Sorted(slices.Values(v.alone))
	if need := groups * v.k; need <= len(sorted) {
		return max(v.keepLB, sorted[need-1])
	}
	return v.values[len(v.values)-1]
}

// decide packs groups within limit; no tells that it is proven impossible.
func (v *divider) decide(limit int32, groups int, m *Meter) (found [][]int, no bool) {
	n := len(v.rows)
	p := newPacker(n, v.k, v.kept, m)
	alive := bitset(n)
	for a := range n {
		row := bitset(n)
		if v.alone[a] <= limit {
			put(alive, a)
			for b := range n {
				if b != a && v.gaps[a*n+b] <= limit {
					put(row, b)
				}
			}
		}
		p.adj = append(p.adj, row)
	}
	m.spend(int64(n * n))
	if overlap(alive, v.kept) < count(v.kept) {
		return nil, true
	}
	if !p.pack(alive, groups) {
		return nil, !m.Stopped()
	}
	for _, g := range p.groups {
		group := make([]int, len(g))
		for i, a := range g {
			group[i] = v.rows[a]
		}
		slices.Sort(group)
		found = append(found, group)
	}
	return found, false
}

// firstEffort is the work a decision may take in the first round; each round
// allows effortGrowth times more.
const (
	firstEffort  = 2_000_000
	effortGrowth = 8
)

// bisect narrows the gap between d's worst group and its lower bound by
// decisions at distances between them, in rounds of growing effort. In each
// round the bound is raised first, then the division improved: an undecided
// distance counts as possible for the one and as impossible for the other.
func (v *divider) bisect(mat Matrix, d *Division) {
	for effort := int64(firstEffort); !d.Proven() && !v.m.Stopped(); effort *= effortGrowth {
		for _, raise := range []bool{true, false} {
			from, to := v.index(d.Lower), v.index(d.Worst)
			at := from // the bound itself is often reached
			for from < to && !v.m.Stopped() {
				switch v.try(mat, d, at, effort) {
				case possible:
					to = v.index(d.Worst)
				case impossible:
					from = at + 1
				case undecided:
					if raise {
						to = at
					} else {
						from = at + 1
					}
				}
				at = (from + to) / 2
			}
		}
	}
}

func (v *divider) index(gap int32) int {
	at, _ := slices.BinarySearch(v.values, gap)
	return at
}

type outcome uint8

const (
	undecided outcome = iota
	possible
	impossible
)

// try decides about the distance v.values[at] and books the outcome in d.
func (v *divider) try(mat Matrix, d *Division, at int, effort int64) outcome {
	part := v.m.share(effort)
	found, no := v.decide(v.values[at], len(d.Groups), part)
	v.m.join(part)
	switch {
	case found != nil:
		d.Groups, d.Worst = found, worstOf(mat, found)
		return possible
	case no:
		d.Lower = max(d.Lower, v.values[at+1])
		return impossible
	}
	return undecided
}

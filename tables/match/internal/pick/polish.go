package pick

// polish exchanges rows between groups, and with rows in no group, as long as
// that makes the worse of the groups concerned better, or the other one at the
// same worse. It never makes the worst group worse. The result can't be
// improved by one exchange, which proves nothing more.
func polish(m Matrix, groups [][]int, keep, leave []int, meter *Meter) {
	p := newPolisher(m, groups, keep, leave)
	for p.sweep(meter) {
	}
}

type polisher struct {
	m      Matrix
	groups [][]int
	worst  []int32
	of     []int // group of each row, inPile or leftOut
	kept   []bool
	b      box
}

const (
	inPile  = -1
	leftOut = -2
)

func newPolisher(m Matrix, groups [][]int, keep, leave []int) *polisher {
	p := &polisher{m: m, groups: groups, of: make([]int, m.n), kept: make([]bool, m.n), b: newBox(m.d)}
	for i := range p.of {
		p.of[i] = inPile
	}
	for _, i := range leave {
		p.of[i] = leftOut
	}
	for _, i := range keep {
		p.kept[i] = true
	}
	for g, group := range groups {
		p.worst = append(p.worst, m.Worst(group))
		for _, i := range group {
			p.of[i] = g
		}
	}
	return p
}

// sweep tries every exchange once and tells whether one helped.
func (p *polisher) sweep(meter *Meter) (better bool) {
	for a, group := range p.groups {
		for at := range group {
			for j := range p.of {
				if meter.spend(int64(2 * len(group) * p.m.d)) {
					return false
				}
				better = p.exchange(a, at, j) || better
			}
		}
	}
	return better
}

// exchange puts row j at one place of group a, if that helps.
func (p *polisher) exchange(a, at, j int) bool {
	i, b := p.groups[a][at], p.of[j]
	if b == a || b == leftOut || b == inPile && p.kept[i] {
		return false
	}
	newA := p.worstWith(a, i, j)
	if b == inPile {
		if newA >= p.worst[a] {
			return false
		}
	} else {
		oldHigh, oldLow := max(p.worst[a], p.worst[b]), min(p.worst[a], p.worst[b])
		if newA > oldHigh {
			return false
		}
		newB := p.worstWith(b, j, i)
		high, low := max(newA, newB), min(newA, newB)
		if high > oldHigh || high == oldHigh && low >= oldLow {
			return false
		}
		p.worst[b] = newB
		for place, row := range p.groups[b] {
			if row == j {
				p.groups[b][place] = i
			}
		}
	}
	p.groups[a][at], p.worst[a] = j, newA
	p.of[i], p.of[j] = b, a
	return true
}

// worstWith is the worst span of group g with row in instead of out.
func (p *polisher) worstWith(g, out, in int) int32 {
	p.b.clear()
	p.b.add(p.m.row(int32(in)))
	for _, i := range p.groups[g] {
		if i != out {
			p.b.add(p.m.row(int32(i)))
		}
	}
	var worst int32
	for c := range p.b.lo {
		worst = max(worst, p.b.hi[c]-p.b.lo[c])
	}
	return worst
}

package bench

import (
	"cmp"
	"slices"
	"strconv"
)

// A grouping sorts readings by a name that some of them have: their run, their slot.
type grouping struct {
	names []string
	of    []int32           // by what key gives: its group, or none
	key   func(k int) int32 // of reading k
}

// groupRuns sorts by run, in the order of the sheet.
func (c *Checked) groupRuns() grouping {
	rs := &c.sheet.Readings
	return newGrouping(len(rs.commons), func(j int) (string, bool) { return rs.commons[j].run, c.readingsOf[j] > 0 },
		func(k int) int32 { return rs.rows[k].common })
}

// groupSlots sorts by slot.
func (c *Checked) groupSlots() grouping {
	rs := &c.sheet.Readings
	used := make([]bool, len(rs.asides))
	for k := range rs.rows {
		used[rs.rows[k].aside] = true
	}
	return newGrouping(len(rs.asides), func(j int) (string, bool) { return rs.asides[j].slot, used[j] },
		func(k int) int32 { return rs.rows[k].aside })
}

// newGrouping groups by the names of n keys, of which some readings may have none.
func newGrouping(n int, name func(j int) (text string, used bool), key func(k int) int32) grouping {
	g := grouping{of: make([]int32, n), key: key}
	var known register
	for j := range n {
		g.of[j] = none
		text, used := name(j)
		if text == "" || !used {
			continue
		}
		g.of[j] = known.number(text)
		if int(g.of[j]) == len(g.names) {
			g.names = append(room(g.names, j, n), text)
		}
	}
	return g
}

// A register numbers names in the order in which they come. Names that are rising
// numbers, as those of runs mostly are, are not hashed: of 250,000 runs that would take
// 50 ms and 25 MB more.
type register struct {
	rising []risen
	others map[string]int32
}

type risen struct{ number, place int32 }

// number gives the place of a name, which is a new one for a new name.
func (r *register) number(name string) int32 {
	next := int32(len(r.rising) + len(r.others))
	x, err := strconv.ParseInt(name, 10, 32)
	if err == nil && x > 0 && name[0] >= '1' { // no other name is this number
		n := len(r.rising)
		if n == 0 || int32(x) > r.rising[n-1].number {
			r.rising = append(room(r.rising, len(r.rising), 2*len(r.rising)), risen{int32(x), next})
			return next
		}
		j, found := slices.BinarySearchFunc(r.rising, int32(x), func(a risen, x int32) int { return cmp.Compare(a.number, x) })
		if found {
			return r.rising[j].place
		}
	}
	if place, found := r.others[name]; found {
		return place
	}
	if r.others == nil {
		r.others = map[string]int32{}
	}
	r.others[name] = next
	return next
}

// group is that of a reading, or none.
func (g grouping) group(k int) int32 { return g.of[g.key(k)] }

// rising tells whether the groups of some readings are each above the one before.
func (g grouping) rising(readings []int32) bool {
	last := int32(none) - 1
	for _, k := range readings {
		next := g.group(int(k))
		if next <= last {
			return false
		}
		last = next
	}
	return true
}

// tallies are the misses of each group, by how much more was read.
type tallies struct {
	grouping
	list  []int32   // groups with enough of them, in the order of the sheet
	off   []float64 // median, by group
	start []int32   // where those of a group begin, and a last one for the end
	parts []float64
}

// tally gathers by group the misses of readings that are not wrong, of the pairs that count;
// groups with few are left out.
func (g grouping) tally(s *misses, least int, counts []bool) tallies {
	groups := len(g.names)
	if groups == 0 {
		return tallies{grouping: g}
	}
	t := tallies{grouping: g, off: make([]float64, groups), start: make([]int32, groups+1)}
	each := func(do func(group int32, part float64)) {
		for k, n := range s.c.pairs.of {
			if !counts[n] || s.c.wrong[k] != fine {
				continue
			}
			if group := g.group(k); group != none {
				do(group, s.c.perShot(k)/s.expected[n].perShot-1)
			}
		}
	}
	each(func(group int32, _ float64) { t.start[group+1]++ })
	for n := range groups {
		t.start[n+1] += t.start[n]
	}
	t.parts = make([]float64, t.start[groups])
	next := slices.Clone(t.start)
	each(func(group int32, part float64) {
		t.parts[next[group]] = part
		next[group]++
	})
	for n := range groups {
		if parts := t.partsOf(int32(n)); len(parts) >= least {
			t.list = append(t.list, int32(n))
			t.off[n] = median(parts)
		}
	}
	return t
}

// partsOf are the misses of a group.
func (t tallies) partsOf(n int32) []float64 { return t.parts[t.start[n]:t.start[n+1]] }

package bench

import (
	"cmp"
	"slices"
	"strconv"
)

// A grouping sorts readings by a name that some of them have: their run, their slot.
type grouping struct {
	keys  []int32            // by group: the first key that has its name
	sizes []int32            // readings, by group
	of    []int32            // by key: its group, or none
	text  func(j int) string // of key j
	key   func(k int) int32  // of reading k
}

// groupRuns sorts by run, in the order of the sheet.
func (c *Checked) groupRuns() grouping {
	rs := &c.sheet.Readings
	return newGrouping(c.readingsOf, func(j int) string { return rs.commons[j].run.in(rs.labels) },
		func(k int) int32 { return rs.rows[k].common })
}

// groupSlots sorts by slot.
func (c *Checked) groupSlots() grouping {
	rs := &c.sheet.Readings
	readings := make([]int32, len(rs.asides))
	if slices.ContainsFunc(rs.asides, func(a aside) bool { return a.slot != "" }) {
		for k := range rs.rows {
			readings[rs.rows[k].aside]++
		}
	}
	return newGrouping(readings, func(j int) string { return rs.asides[j].slot },
		func(k int) int32 { return rs.rows[k].aside })
}

// newGrouping groups by the texts of keys, of which some have none or no readings.
func newGrouping(readings []int32, text func(j int) string, key func(k int) int32) grouping {
	g := grouping{of: make([]int32, len(readings)), text: text, key: key}
	var known register
	for j, count := range readings {
		g.of[j] = none
		name := text(j)
		if name == "" || count == 0 {
			continue
		}
		group := known.number(name)
		if int(group) == len(g.keys) {
			g.keys = append(room(g.keys, j, len(readings)), int32(j))
			g.sizes = append(room(g.sizes, j, len(readings)), 0)
		}
		g.of[j] = group
		g.sizes[group] += count
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

// name is that of a group.
func (g grouping) name(n int32) string { return g.text(int(g.keys[n])) }

// group is that of a reading, or none.
func (g grouping) group(k int) int32 { return g.of[g.key(k)] }

// tallies are the misses of each group, by how much more was read.
type tallies struct {
	grouping
	list  []int32   // groups with enough of them, in the order of the sheet
	off   []float64 // median, by group
	first []int32   // where those of a group begin
	end   []int32   // and end
	parts []float64
}

// tally gathers by group the misses of readings that are not wrong, of the pairs that count;
// groups with few are left out.
func (g grouping) tally(s *misses, least int, counts []bool) tallies {
	groups := len(g.keys)
	if groups == 0 {
		return tallies{grouping: g}
	}
	t := tallies{grouping: g, off: make([]float64, groups), first: make([]int32, groups)}
	room := int32(0)
	for n, size := range g.sizes {
		t.first[n] = room
		room += size
	}
	t.end, t.parts = slices.Clone(t.first), make([]float64, room)
	for k, n := range s.c.pairs.of {
		if !counts[n] || s.c.wrong[k] != fine {
			continue
		}
		if group := g.group(k); group != none {
			t.parts[t.end[group]] = s.c.perShot(k)/s.expected[n].perShot - 1
			t.end[group]++
		}
	}
	for n := range groups {
		if parts := t.partsOf(int32(n)); len(parts) >= least {
			t.list = append(t.list, int32(n))
			t.off[n] = median(parts)
		}
	}
	return t
}

// partsOf are the misses of a group.
func (t tallies) partsOf(n int32) []float64 { return t.parts[t.first[n]:t.end[n]] }

package bench

import (
	"cmp"
	"slices"
	"strconv"
)

// A grouping sorts readings by a name that some of them have: their run, their slot.
type grouping struct {
	readings []Reading
	name     func(*Reading) string
	of       []int32 // by reading: its group, or none; nil where no reading has a name
	first    []int32 // by group: its first reading
}

func newGrouping(readings []Reading, name func(*Reading) string) grouping {
	g := grouping{readings: readings, name: name}
	var known register
	last, group := "", int32(none)
	for k := range readings {
		n := name(&readings[k])
		if n != last { // readings of one run follow each other
			last, group = n, none
			if n != "" {
				group = known.number(n)
			}
			if int(group) == len(g.first) {
				g.first = append(room(g.first, k, len(readings)), int32(k))
			}
		}
		if group == none && g.of == nil {
			continue
		}
		if g.of == nil {
			g.of = make([]int32, len(readings))
			for before := range k {
				g.of[before] = none
			}
		}
		g.of[k] = group
	}
	return g
}

// nameOf and lineOf are the name of a group and the line of its first reading.
func (g grouping) nameOf(n int32) string { return g.name(&g.readings[g.first[n]]) }
func (g grouping) lineOf(n int32) int    { return g.readings[g.first[n]].Line }

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
func (g grouping) group(k int) int32 {
	if g.of == nil {
		return none
	}
	return g.of[k]
}

// tallies are the misses of each group, by how much more was read.
type tallies struct {
	grouping
	list  []int32   // groups with enough of them, in the order of the sheet
	off   []float64 // median, by group
	start []int32   // where those of a group begin, and a last one for the end
	parts []float64
}

// tally gathers misses by group; groups with few are left out.
func (g grouping) tally(s *misses, least int, counts func(miss) bool) tallies {
	groups := len(g.first)
	t := tallies{grouping: g, off: make([]float64, groups), start: make([]int32, groups+1)}
	for m := range s.all {
		if n := g.group(m.reading); n != none && counts(m) {
			t.start[n+1]++
		}
	}
	for n := range groups {
		t.start[n+1] += t.start[n]
	}
	t.parts = make([]float64, t.start[groups])
	next := slices.Clone(t.start)
	for m := range s.all {
		if n := g.group(m.reading); n != none && counts(m) {
			t.parts[next[n]] = m.part
			next[n]++
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
func (t tallies) partsOf(n int32) []float64 { return t.parts[t.start[n]:t.start[n+1]] }

package bench

import "slices"

// A grouping sorts readings by a name that some of them have: their run, their slot.
type grouping struct {
	of    []int32 // by reading: its group, or none; nil where no reading has a name
	names []string
	lines []int // of the first reading
}

func newGrouping(readings []Reading, name func(*Reading) string) (g grouping) {
	at := map[string]int32{}
	last, group := "", int32(none)
	for k := range readings {
		n := name(&readings[k])
		if n == "" {
			if g.of != nil {
				g.of[k] = none
			}
			continue
		}
		if g.of == nil {
			g.of = make([]int32, len(readings))
			for before := range k {
				g.of[before] = none
			}
			at = make(map[string]int32, changes(readings[k:], name))
		}
		if n != last { // readings of one run follow each other
			known := false
			if group, known = at[n]; !known {
				group = int32(len(g.names))
				at[n] = group
				g.names, g.lines = append(g.names, n), append(g.lines, readings[k].Line)
			}
			last = n
		}
		g.of[k] = group
	}
	return g
}

// changes guesses from the first readings how many names there are.
func changes(readings []Reading, name func(*Reading) string) int {
	const look = 10000
	n := 0
	for k := 1; k < min(look, len(readings)); k++ {
		if name(&readings[k]) != name(&readings[k-1]) {
			n++
		}
	}
	return n * max(1, len(readings)/look)
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
	t := tallies{grouping: g, off: make([]float64, len(g.names)), start: make([]int32, len(g.names)+1)}
	for m := range s.all {
		if n := g.group(m.reading); n != none && counts(m) {
			t.start[n+1]++
		}
	}
	for n := range g.names {
		t.start[n+1] += t.start[n]
	}
	t.parts = make([]float64, t.start[len(g.names)])
	next := slices.Clone(t.start)
	for m := range s.all {
		if n := g.group(m.reading); n != none && counts(m) {
			t.parts[next[n]] = m.part
			next[n]++
		}
	}
	for n := range g.names {
		if parts := t.partsOf(int32(n)); len(parts) >= least {
			t.list = append(t.list, int32(n))
			t.off[n] = median(parts)
		}
	}
	return t
}

// partsOf are the misses of a group.
func (t tallies) partsOf(n int32) []float64 { return t.parts[t.start[n]:t.start[n+1]] }

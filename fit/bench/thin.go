package bench

import (
	"math"
	"math/bits"
	"slices"
)

const (
	mostHeld    = 1 << 20 // readings, which take 60 MB with the judgement of them
	leastKept   = 4       // repeats of a group, whatever room they take
	leastPlaces = 3       // from as many places of the file, if it has them: one may be wrong as a whole
)

// A thinning lets go of repeats of which there are very many, so that memory goes by what
// was measured and not by how often. What it keeps is an even choice over the file that
// goes by the lines alone. A Check that finds readings missing has them read again.
type thinning struct {
	bins   map[bin]int32
	groups map[uint64]int32 // by injector and bin
	levels []uint8          // by group: what ranks lower is let go
	most   int              // repeats of a group that are kept, or leastKept
	gone   int              // readings
}

// A bin is conditions that are alike, in steps of how near those of a point are.
type bin struct {
	times
	pressure, voltage int32
}

func binOf(c *common) bin {
	b := bin{times: timesOf(c.point()), pressure: int32(math.Log(float64(c.pressure)) / math.Log1p(samePressure))}
	if !c.leak() {
		b.voltage = int32(c.voltage.V() / sameVoltage)
	}
	return b
}

// thinned is a collector for a file, and what thins it.
func thinned(room int) (collector, *thinning) {
	t := &thinning{bins: map[bin]int32{}, groups: map[uint64]int32{}, most: room}
	return collector{room: room, full: t.thin}, t
}

// thin lets go of a quarter of the readings or more, by keeping fewer repeats of a group; where
// groups alone take more, of what makes more than leastKept.
func (t *thinning) thin(c *collector) {
	groups := t.groupsOf(c)
	for 4*t.raise(c.rows, groups) > 3*c.room && t.most > leastKept {
		t.most = max(leastKept, t.most/2)
	}
	t.drop(c, groups)
	c.sweep()
	c.room = max(c.room, 3*len(c.rows)/2)
}

// groupsOf numbers the groups of readings.
func (t *thinning) groupsOf(c *collector) []int32 {
	bins := make([]int32, len(c.commons.list))
	for j := range bins {
		s := binOf(&c.commons.list[j])
		n, known := t.bins[s]
		if !known {
			n = int32(len(t.bins))
			t.bins[s] = n
		}
		bins[j] = n
	}
	groups := make([]int32, len(c.rows))
	for k := range c.rows {
		x := &c.rows[k]
		key := uint64(x.injector)<<32 | uint64(bins[x.common])
		g, known := t.groups[key]
		if !known {
			g = int32(len(t.groups))
			t.groups[key], t.levels = g, append(t.levels, 0)
		}
		groups[k] = g
	}
	return groups
}

// raise raises the levels of groups until each keeps no more readings than it may, but from
// no fewer than leastPlaces places of the file. It tells how many are kept in all.
func (t *thinning) raise(rows []record, groups []int32) (kept int) {
	stay, next := make([]int32, len(t.levels)), make([]int32, len(t.levels)) // readings at this level, places at the one above
	last := make([]int32, len(t.levels))                                     // place
	for more := true; more; {
		clear(stay)
		clear(next)
		clear(last)
		for k := range rows {
			g, r := groups[k], rank(rows[k].line)
			if r >= t.levels[g] {
				stay[g]++
			}
			if place := rows[k].line/together + 1; r > t.levels[g] && place != last[g] {
				next[g]++
				last[g] = place
			}
		}
		kept, more = 0, false
		for g, n := range stay {
			kept += int(n)
			if int(n) > t.most && next[g] >= leastPlaces {
				t.levels[g]++
				more = true
			}
		}
	}
	return kept
}

// together are lines that are kept or let go as one, so that runs stay whole.
const together = 16

// rank is at least n for one line in 2ⁿ. Multiples of the golden ratio spread numbers evenly
// that follow each other or are evenly apart (Knuth, The Art of Computer Programming,
// volume 3, 6.4; from memory).
func rank(line int32) uint8 {
	return uint8(bits.LeadingZeros64(uint64(line/together) * 0x9e3779b97f4a7c15))
}

// drop lets go of what ranks too low for its group.
func (t *thinning) drop(c *collector, groups []int32) {
	n := 0
	for k, x := range c.rows {
		if rank(x.line) < t.levels[groups[k]] {
			continue
		}
		c.rows[n] = x
		if c.masses != nil {
			c.masses[n] = c.masses[k]
		}
		n++
	}
	t.gone += len(c.rows) - n
	c.rows = c.rows[:n]
	if c.masses != nil {
		c.masses = c.masses[:n]
	}
}

// finish thins what came since the last time as what came before. It tells how many readings
// of the file were let go.
func (t *thinning) finish(c *collector) int {
	if t.gone > 0 {
		t.drop(c, t.groupsOf(c))
		c.sweep()
		c.rows, c.commons.list = slices.Clone(c.rows), slices.Clone(c.commons.list) // the rest of their room is free
	}
	return t.gone
}

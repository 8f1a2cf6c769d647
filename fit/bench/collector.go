package bench

import (
	"cmp"
	"strings"

	"injtab/fit/unit"
)

// A collector builds Readings.
type collector struct {
	rows    []record
	room    int              // for rows; 0: there is no end of it
	full    func(*collector) // makes room when it is taken
	row     record           // the last that was added
	masses  []unit.Mass
	names   []string
	numbers map[string]int32 // of injectors, by name
	after   []int32          // by injector: which one came next, the last time
	last    int32            // injector
	commons shelf[common]
	labels  labels // of runs
	asides  shelf[aside]
}

// readings are those that were added.
func (c *collector) readings() Readings {
	return Readings{names: c.names, commons: c.commons.list, labels: string(c.labels.text), asides: c.asides.list, masses: c.masses, rows: c.rows}
}

// add takes in a reading.
func (c *collector) add(r Reading) {
	more := len(c.rows) + 1
	x := record{
		volume:   r.Volume,
		injector: c.injector(r.Injector),
		common:   c.commons.place(common{r.Pulse, r.Period, r.Shots, r.Pressure, r.Voltage, r.Temp, c.labels.place(r.Run)}, more, cap(c.rows)),
		aside:    c.asides.place(aside{r.Slot, r.Vessel, r.Note, r.Division, r.Resistance}, more, cap(c.rows)),
		line:     int32(r.Line),
	}
	c.append(x, r.Mass)
}

// addLike takes in a reading that has everything in common with the last.
func (c *collector) addLike(injector string, volume unit.Volume, mass unit.Mass, line int) {
	x := c.row
	x.volume, x.injector, x.line = volume, c.injector(injector), int32(line)
	c.append(x, mass)
}

// common is what the last reading has in common with others.
func (c *collector) common() *common { return &c.commons.list[c.row.common] }

func (c *collector) append(x record, mass unit.Mass) {
	if mass > 0 && c.masses == nil {
		c.masses = make([]unit.Mass, len(c.rows), cap(c.rows))
	}
	if c.masses != nil {
		c.masses = append(c.masses, mass)
	}
	c.rows, c.row = append(c.rows, x), x
	c.makeRoom()
}

// makeRoom makes room where there are more readings than it has.
func (c *collector) makeRoom() {
	if c.full != nil && len(c.rows) > c.room {
		c.full(c)
	}
}

// empty lets go of all readings, but not of what the next may have in common with the last.
func (c *collector) empty() {
	c.rows = c.rows[:0]
	if c.masses != nil {
		c.masses = c.masses[:0]
	}
	c.sweep()
}

// sweep lets go of what no reading has in common any more, but for the last.
func (c *collector) sweep() {
	commons, asides := make([]bool, len(c.commons.list)), make([]bool, len(c.asides.list))
	commons[c.row.common], asides[c.row.aside] = true, true
	for k := range c.rows {
		commons[c.rows[k].common], asides[c.rows[k].aside] = true, true
	}
	text, kept := string(c.labels.text), labels{}
	for j := range c.commons.list {
		if x := &c.commons.list[j]; commons[j] {
			x.run = kept.place(x.run.in(text))
		}
	}
	c.labels = kept
	common, aside := c.commons.keep(commons), c.asides.keep(asides)
	move := func(x *record) { x.common, x.aside = common[x.common], aside[x.aside] }
	move(&c.row)
	for k := range c.rows {
		move(&c.rows[k])
	}
}

// injector numbers names in the order in which they come. A name may lie in memory that
// is used again. Injectors mostly come in the same order again, so that a look at two
// names is enough.
func (c *collector) injector(name string) int32 {
	if len(c.names) > 0 {
		if c.names[c.last] == name {
			return c.last
		}
		if next := c.after[c.last]; c.names[next] == name {
			c.last = next
			return next
		}
	}
	number, seen := c.numbers[name]
	if !seen {
		if c.numbers == nil {
			c.numbers = map[string]int32{}
		}
		name = strings.Clone(name)
		number = int32(len(c.names))
		c.names, c.after = append(c.names, name), append(c.after, number)
		c.numbers[name] = number
	}
	c.after[c.last], c.last = number, number
	return number
}

// A shelf keeps what many readings share.
type shelf[T comparable] struct {
	list  []T
	known map[T]int32 // nil once there are too many
	most  int32       // of known; 0: onShelf
	last  int32
}

// onShelf are kept to be found again by any later reading. Where there are more, as runs
// of an archive, one is found by the reading that follows: those of a run do.
const onShelf = 1 << 10

// place is that of x, which is a new one for what is not found. The first k of n readings
// have been added.
func (s *shelf[T]) place(x T, k, n int) int32 {
	if len(s.list) > 0 && s.list[s.last] == x {
		return s.last
	}
	place, found := s.known[x]
	if !found {
		place = int32(len(s.list))
		s.list = append(room(s.list, k, n), x)
		switch {
		case place == 0:
			s.known = map[T]int32{x: place}
		case place < cmp.Or(s.most, onShelf):
			s.known[x] = place
		default:
			s.known = nil
		}
	}
	s.last = place
	return place
}

// keep lets go of all but some, and tells where these are now.
func (s *shelf[T]) keep(used []bool) (to []int32) {
	to = make([]int32, len(s.list))
	kept := s.list[:0]
	for k, x := range s.list {
		to[k] = int32(len(kept))
		if used[k] {
			kept = append(kept, x)
		}
	}
	clear(s.list[len(kept):])
	s.list, s.last = kept, to[s.last]
	s.known = nil
	if len(kept) <= cmp.Or(int(s.most), onShelf) {
		s.known = make(map[T]int32, len(kept))
		for k, x := range kept {
			s.known[x] = int32(k)
		}
	}
	return to
}

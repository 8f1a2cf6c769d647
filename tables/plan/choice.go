package plan

import (
	"math"
	"slices"

	"injtab/fit/unit"
)

// Scopes say who is taken through a point.
const (
	mappedOnly = iota // the first seating
	everyone          // every seating
	scopes
)

// A choice is how often each spot is run, by scope.
type choice [scopes][]int

func newChoice(n int) choice { return choice{make([]int, n), make([]int, n)} }

func (c choice) clone() choice {
	return choice{slices.Clone(c[mappedOnly]), slices.Clone(c[everyone])}
}

// A condition is a pressure and a voltage that are set together.
type condition struct {
	pressure unit.Pressure
	voltage  unit.Voltage
}

func (s spot) condition() condition { return condition{s.pressure, s.voltage} }

// compared is the condition at which injectors are compared.
func (j *job) compared() condition { return condition{j.refP, j.refV} }

// A field is the spots to choose from, in the order of their conditions.
type field struct {
	*job
	spots     []spot
	at        []int // condition of each spot
	reference int   // condition where injectors are compared
	seatings  int
	set       [scopes][]bool // scratch: conditions used
	tally     []tally        // scratch: by condition
}

// A tally is what is run at one condition.
type tally struct {
	shortest, longest float64 // ms of open time
	readings          int
	atLongest         int
	pulses            int // different ones
}

func newField(j *job, spots []spot, seatings int) *field {
	f := &field{job: j, spots: spots, seatings: seatings, reference: -1}
	var list []condition
	for _, s := range spots {
		i := slices.Index(list, s.condition())
		if i < 0 {
			i = len(list)
			list = append(list, s.condition())
		}
		f.at = append(f.at, i)
	}
	f.reference = slices.Index(list, j.compared())
	for scope := range f.set {
		f.set[scope] = make([]bool, len(list))
	}
	f.tally = make([]tally, len(list))
	return f
}

// time is how long the chosen runs take, with the setting of every condition in
// every seating.
func (f *field) time(c choice) unit.Time {
	var total unit.Time
	for scope, list := range c {
		clear(f.set[scope])
		runs := 1
		if scope == everyone {
			runs = f.seatings
		}
		for k, n := range list {
			if n > 0 {
				total += unit.Time(n*runs) * (f.duration(f.spots[k]) + f.Handling)
				f.set[scope][f.at[k]] = true
			}
		}
	}
	settings := 0
	for i, all := range f.set[everyone] {
		if all {
			settings += f.seatings
		} else if f.set[mappedOnly][i] {
			settings++
		}
	}
	return total + unit.Time(settings)*f.Settling
}

// sound tells whether the fit can make something of every condition used: two
// pulses apart from each other, several where injectors are compared, and the
// longest not so often that it outvotes the others.
func (f *field) sound(c choice) bool {
	clear(f.tally)
	for k, s := range f.spots {
		if n := c[mappedOnly][k] + c[everyone][k]; n > 0 && !s.held(f.period) {
			f.tally[f.at[k]].take(s.open, n)
		}
	}
	for i, t := range f.tally {
		switch {
		case i == f.reference && t.pulses < leastPulses:
			return false
		case t.readings > 0 && t.longest-t.shortest < leastApart:
			return false
		case t.readings >= manyReadings && 2*t.atLongest >= t.readings:
			return false
		}
	}
	return true
}

// take counts n readings of a pulse that has not been counted yet.
func (t *tally) take(open float64, n int) {
	switch {
	case t.readings == 0:
		t.shortest, t.longest, t.atLongest = open, open, n
	case open > t.longest:
		t.longest, t.atLongest = open, n
	case open < t.shortest:
		t.shortest = open
	}
	t.readings += n
	t.pulses++
}

const (
	leastApart   = 0.75 // ms between two pulses at one condition, with room for the half that the fit asks for
	leastPulses  = 4    // different ones where injectors are compared, from which the bend can be told
	manyReadings = 5    // from which the longest pulse must not be half of them
)

// core is what every plan begins with: the pulses at which injectors are compared,
// first the one that shows drifts and ties seatings.
func (f *field) core() choice {
	c := newChoice(len(f.spots))
	scope := everyone
	take := func(open float64) {
		best, miss := -1, math.Inf(1)
		for k, s := range f.spots {
			if f.at[k] == f.reference && !s.held(f.period) && c[everyone][k]+c[mappedOnly][k] == 0 && math.Abs(s.open-open) < miss {
				best, miss = k, math.Abs(s.open-open)
			}
		}
		if best >= 0 {
			c[scope][best] = 1
		}
	}
	list := []float64{tieOpen, f.shortest, 10, shortRegion}
	if f.Purpose == Map && f.Number > f.Slots {
		take(list[0])
		take(list[1])
		scope, list = mappedOnly, list[2:]
	}
	for _, open := range list {
		take(open)
	}
	return c
}

// tieOpen is the open time in ms of the point that shows drifts and ties seatings:
// long enough to be sure, short enough not to outweigh the line's far end.
const tieOpen = 4.0

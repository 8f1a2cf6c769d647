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

// byClass counts the runs that an injector of each class takes part in.
func (c choice) byClass(classes int) [][]int {
	first := slices.Clone(c[everyone])
	for k, n := range c[mappedOnly] {
		first[k] += n
	}
	return [][]int{first, c[everyone]}[:classes]
}

// A condition is a pressure and a voltage that are set together.
type condition struct {
	pressure unit.Pressure
	voltage  unit.Voltage
}

func (s spot) condition() condition { return condition{s.pressure, s.voltage} }

// time is how long the chosen runs take, with the setting of every condition in
// every seating.
func (j *job) time(spots []spot, c choice, seatings int) unit.Time {
	var total unit.Time
	var set [scopes]map[condition]bool
	for scope := range scopes {
		set[scope] = map[condition]bool{}
	}
	for scope, list := range c {
		runs := 1
		if scope == everyone {
			runs = seatings
		}
		for k, n := range list {
			if n > 0 {
				total += unit.Time(n*runs) * (j.duration(spots[k]) + j.Handling)
				set[scope][spots[k].condition()] = true
			}
		}
	}
	for at := range set[everyone] {
		set[mappedOnly][at] = true
	}
	settings := len(set[mappedOnly]) + (seatings-1)*len(set[everyone])
	return total + unit.Time(settings)*j.Settling
}

// sound tells whether the fit can make something of every condition used: two
// pulses half a millisecond apart, and several where results are quoted.
func (j *job) sound(spots []spot, c choice) bool {
	pulses := map[condition][]float64{}
	for _, list := range c {
		for k, n := range list {
			if n > 0 && !spots[k].held(j.period) {
				at := spots[k].condition()
				pulses[at] = append(pulses[at], spots[k].open)
			}
		}
	}
	for at, list := range pulses {
		slices.Sort(list)
		list = slices.Compact(list)
		if list[len(list)-1]-list[0] < leastApart || at == j.reference() && len(list) < leastPulses {
			return false
		}
	}
	return len(pulses[j.reference()]) > 0
}

func (j *job) reference() condition { return condition{j.refP, j.refV} }

const (
	leastApart  = 0.75 // ms between two pulses at one condition, with room for the half that the fit asks for
	leastPulses = 4    // different ones where injectors are compared, from which the bend can be told
)

// core is what every plan begins with: the pulses at which injectors are compared.
func (j *job) core(spots []spot) choice {
	c := newChoice(len(spots))
	scope := everyone
	take := func(open float64) {
		best, miss := -1, math.Inf(1)
		for k, s := range spots {
			if s.condition() == j.reference() && !s.held(j.period) && c[scope][k] == 0 && math.Abs(s.open-open) < miss {
				best, miss = k, math.Abs(s.open-open)
			}
		}
		if best >= 0 {
			c[scope][best] = 1
		}
	}
	list := []float64{4, j.shortest, 10, shortRegion}
	if j.Purpose == Map && j.Number > j.Slots {
		take(list[0])
		take(list[1])
		scope, list = mappedOnly, list[2:]
	}
	for _, open := range list {
		take(open)
	}
	return c
}

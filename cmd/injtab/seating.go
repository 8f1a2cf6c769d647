package main

import (
	"slices"
	"strconv"

	"injtab/fit/bench"
	"injtab/tables/match"
)

// seat decides which injectors the tables are for and where they sit: the set that
// match chooses, or the cylinders given by hand.
func (t *tableChoice) seat(c bench.Checked) (*match.Result, error) {
	if !t.match.wanted() {
		t.seatByHand()
		return nil, nil
	}
	switch o := t.options; {
	case o.Injectors != nil:
		return nil, usage("a matched set chooses the injectors itself: leave out --injectors, or name them with --keep")
	case o.Cylinders != nil:
		return nil, usage("a matched set is seated by itself: leave out --seats, or choose no set")
	}
	r, err := choose(c, t.match.options)
	if err != nil {
		return nil, err
	}
	set, err := t.pick(r)
	if err != nil {
		return nil, err
	}
	t.options.Injectors, t.options.Cylinders = set.Injectors, map[string]int{}
	for _, s := range set.Seats {
		t.options.Cylinders[s.Injector] = s.Cylinder
	}
	return &r, nil
}

// seatByHand makes the tables for the injectors that were given cylinders.
func (t *tableChoice) seatByHand() {
	if t.options.Cylinders == nil || t.options.Injectors != nil {
		return
	}
	for id := range t.options.Cylinders {
		t.options.Injectors = append(t.options.Injectors, id)
	}
	slices.SortFunc(t.options.Injectors, bench.CompareNatural)
}

// pick is the set that the tables are for: the one named, else the first.
func (t *tableChoice) pick(r match.Result) (match.Set, error) {
	if len(r.Sets) == 0 {
		return match.Set{}, usage("no set of %d is within the tolerance: see `injtab match`", t.match.options.Of)
	}
	if n := t.setNumber; n > len(r.Sets) {
		return match.Set{}, usage("--set %s: the last set is %d", strconv.Itoa(n), len(r.Sets))
	}
	return r.Sets[max(t.setNumber, 1)-1], nil
}

// wanted tells whether a matched set is asked for.
func (m matchChoice) wanted() bool {
	o := m.options
	return o.Of > 0 || o.Cylinders != nil || o.Banks != nil || o.FiringOrder != nil || o.Replace != ""
}

package plan

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"injtab/fit/bench"
	"injtab/fit/unit"
)

// Kinds of runs.
const (
	pulsed  = "pulsed"
	held    = "held_open"
	leak    = "leak"
	opening = "opening"
)

// A task is a spot to be run for a reason.
type task struct {
	spot
	kind string
}

// A turn is one run of the bench: a task for the injectors of a seating.
type turn struct {
	task
	seats   seating
	seating int // from 0, main ones first
}

// An agenda is all turns in order, with the time that they take.
type agenda struct {
	turns    []turn
	seatings int
}

// agenda puts the chosen spots in order: for every seating first the leak test,
// then condition after condition, each setting once; at the end the point
// that ties seatings once more, which shows a drift; the opening test with the mapped injectors; last the
// seatings that tie slots and injectors.
func (j *job) agenda(spots []spot, c choice, r rota, e extras) agenda {
	a := agenda{seatings: len(r.main)}
	for i, seats := range r.main {
		add := func(t task) { a.turns = append(a.turns, turn{t, seats, i}) }
		if e.leak.shots > 0 {
			add(task{e.leak, leak})
		}
		for _, t := range j.tasks(spots, c, i == 0) {
			add(t)
		}
		if e.again {
			add(j.tieTask(spots, c))
		}
		if i == 0 {
			for _, s := range e.opening {
				add(task{s, opening})
			}
		}
	}
	if e.tie {
		for _, seats := range r.tie {
			a.turns = append(a.turns, turn{j.tieTask(spots, c), seats, a.seatings})
			a.seatings++
		}
	}
	return a
}

// tasks are the runs of one seating, the reference condition first, then by
// pressure and voltage; within a condition the pulses alternate between long and
// short, so that a drift does not look like a bend.
func (j *job) tasks(spots []spot, c choice, first bool) []task {
	type item struct {
		task
		rank int
	}
	var list []item
	for k, s := range spots {
		n := c[everyone][k]
		if first {
			n += c[mappedOnly][k]
		}
		t := task{s, pulsed}
		if s.held(j.period) {
			t.kind = held
		}
		for repeat := range n {
			list = append(list, item{t, repeat})
		}
	}
	slices.SortStableFunc(list, func(a, b item) int {
		return cmp.Or(j.compareConditions(a.condition(), b.condition()), cmp.Compare(a.rank, b.rank), cmp.Compare(b.pulse, a.pulse))
	})
	out := make([]task, 0, len(list))
	for from := 0; from < len(list); {
		to := from
		for to < len(list) && list[to].condition() == list[from].condition() && list[to].rank == list[from].rank {
			to++
		}
		for i, k := from, to-1; i <= k; i, k = i+1, k-1 {
			out = append(out, list[i].task)
			if i < k {
				out = append(out, list[k].task)
			}
		}
		from = to
	}
	return out
}

func (j *job) compareConditions(a, b condition) int {
	away := func(c condition) int {
		if c == j.compared() {
			return 0
		}
		return 1
	}
	return cmp.Or(cmp.Compare(away(a), away(b)), cmp.Compare(a.pressure, b.pressure), cmp.Compare(b.voltage, a.voltage))
}

// tieTask is the point by which drifts are seen and slots are told from injectors:
// of those that all injectors take the one nearest to tieOpen.
func (j *job) tieTask(spots []spot, c choice) task {
	best, miss := task{}, math.Inf(1)
	for k, s := range spots {
		if far := math.Abs(s.open - tieOpen); c[everyone][k] > 0 && !s.held(j.period) && far < miss {
			best, miss = task{s, pulsed}, far
		}
	}
	return best
}

// time is how long the agenda takes: seating, setting, running, emptying and
// writing down.
func (a agenda) time(j *job) unit.Time {
	var total unit.Time
	last := turn{seating: -1}
	for _, t := range a.turns {
		if t.seating != last.seating {
			total += j.Seating
		}
		if t.seating != last.seating || t.condition() != last.condition() {
			total += j.Settling
		}
		total += j.duration(t.spot) + j.Handling
		last = t
	}
	return total
}

// readings are the rows of the bench file, without amounts.
func (a agenda) readings(j *job) []bench.Reading {
	var list []bench.Reading
	for i, t := range a.turns {
		for slot, id := range t.seats {
			if id == "" {
				continue
			}
			r := j.reading(t.spot)
			r.Injector, r.Run = id, fmt.Sprint(i+1)
			r.Slot, r.Vessel = fmt.Sprint(slot+1), fmt.Sprint(slot+1)
			list = append(list, r)
		}
	}
	return list
}

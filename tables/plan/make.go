package plan

import (
	"fmt"
	"math"

	"injtab/fit"
	"injtab/fit/unit"
)

// Make plans a session. An error says in one sentence what stands in the way and
// what to do.
func Make(in Inputs) (Plan, error) {
	j, err := prepare(in)
	if err != nil {
		return Plan{}, err
	}
	r := j.newRota()
	s, err := newSearch(j, r)
	if err != nil {
		return Plan{}, err
	}
	e, fixed, err := j.extrasFor(s, r)
	if err != nil {
		return Plan{}, err
	}
	s.run(fixed, func() unit.Time { return j.agenda(s.spots, s.now, r, e).time(j) })
	chosen, err := j.weigh(s.spots, s.now, r, e, s.needs)
	if err != nil {
		return Plan{}, err
	}
	even := j.rival(s, r, e)
	fallen := even.worst < chosen.worst
	if fallen {
		chosen = even
	}
	return j.finish(chosen, even, fallen, r, e), nil
}

// rival is what an evenly spread plan yields in the time the chosen points take.
// The extras may need more turns beside its points than beside those chosen: where
// the whole then takes longer than the bench time, it gets so much less.
func (j *job) rival(s *search, r rota, e extras) outcome {
	budget := s.time(s.now)
	for range searchRounds {
		spots, c := j.even(budget, len(r.main))
		excess := j.agenda(spots, c, r, e).time(j) - j.BenchTime
		if j.BenchTime > 0 && excess > 0 {
			budget -= excess
			continue
		}
		even, err := j.weigh(spots, c, r, e, s.needs)
		if err != nil {
			break // so few points that nothing could be fitted
		}
		return even
	}
	return outcome{worst: math.Inf(1)}
}

// extrasFor settles which further runs there is time for, and what they take.
func (j *job) extrasFor(s *search, r rota) (extras, unit.Time, error) {
	e := extras{leak: j.leakTest(), opening: j.openingTest(), again: true, tie: len(r.tie) > 0}
	if j.BenchTime == 0 {
		return e, j.fixed(s, r, e), nil
	}
	for _, less := range []func(*extras){func(*extras) {}, func(e *extras) { e.opening = nil }, func(e *extras) { e.tie = false }, func(e *extras) { e.again = false }} {
		less(&e)
		if fixed := j.fixed(s, r, e); fixed+s.time(s.start) <= j.BenchTime {
			if len(r.tie) > 0 && !e.tie {
				j.say("no_tie", "the bench time leaves none to seat injectors otherwise for a repeat, so what a slot and its vessel do can't be told from the injectors: exchange the vessels now and then")
			}
			return e, fixed, nil
		}
	}
	least := (j.fixed(s, r, e) + s.time(s.start)).Seconds() / 60
	return e, 0, fmt.Errorf("a bench time of %.0f min is too short: the smallest useful session takes %.0f min (%d seatings of %.0f min, leak test, four pulses); give more time, or plan for fewer injectors",
		j.BenchTime.Seconds()/60, math.Ceil(least), len(r.main), j.Seating.Seconds()/60)
}

// fixed is what the extras and the seatings take beside the points themselves, with
// the way back to the first condition where others come between.
func (j *job) fixed(s *search, r rota, e extras) unit.Time {
	t := j.agenda(s.spots, s.start, r, e).time(j) - s.time(s.start)
	if e.again && j.Purpose != Match {
		t += j.Settling
	}
	return t
}

// run searches within the bench time, or, where none was given, for as long as
// the needs take, up to a working day. Which turns the extras need depends a little
// on the points found: where the whole then takes too long, it searches again with
// so much less.
func (s *search) run(fixed unit.Time, whole func() unit.Time) {
	limit := s.BenchTime
	setDefault(&limit, longestDay)
	for range searchRounds {
		s.now = s.start.clone()
		budget := limit - fixed
		s.grow(budget, s.BenchTime == 0)
		if s.BenchTime == 0 {
			budget = s.time(s.now)
		}
		s.trade(budget)
		excess := whole() - limit
		if excess <= 0 {
			return
		}
		fixed += excess
	}
	s.now = s.start.clone()
}

const searchRounds = 4

// An outcome is a plan with what it would yield.
type outcome struct {
	spots  []spot
	choice choice
	agenda agenda
	look   *fit.Prospect
	met    []yield
	worst  float64 // largest ratio to the aim
	missed float64 // largest ratio to what is allowed
}

// A yield is a need with what a session would leave of it, as relative standard
// uncertainties.
type yield struct {
	need
	random, common float64
}

func (y yield) u() float64 { return math.Hypot(y.random, y.common) }

// weigh predicts what a choice yields, by the fit itself.
func (j *job) weigh(spots []spot, c choice, r rota, e extras, needs []need) (outcome, error) {
	o := outcome{spots: spots, choice: c, agenda: j.agenda(spots, c, r, e)}
	var err error
	o.look, err = fit.Predict(j.expect, j.setup, o.agenda.readings(j))
	if err != nil {
		return o, err
	}
	for _, n := range needs {
		y := yield{need: n}
		y.random, y.common = j.predict(o.look, n, r)
		o.met = append(o.met, y)
		o.worst = math.Max(o.worst, n.ratio(y.random, y.common))
		o.missed = math.Max(o.missed, y.u()/n.allowed)
	}
	return o, nil
}

// predict gives the relative standard uncertainties of a need.
func (j *job) predict(look *fit.Prospect, n need, r rota) (random, common float64) {
	id := r.main[0].ids()[0]
	if n.Class == others {
		id = r.main[len(r.main)-1].other(r.reference)
	}
	g, ok := look.Model.Find(id)
	if !ok {
		return math.Inf(1), math.Inf(1)
	}
	var p fit.Prediction
	switch who := (fit.Who{g}); n.Kind {
	case fit.StaticFlow:
		p = look.Flow(who, n.Pressure)
	case fit.DeliveredFor:
		p = look.Delivered(who, n.Open, n.Pressure, n.Voltage)
	case fit.DeliveredBy:
		pulse := n.Open + unit.Ms(look.Model.DeadTimeOf(g, n.Pressure, n.Voltage))
		p = look.DeliveredDifference(g, look.Model.Everyone(), pulse, n.Pressure, n.Voltage)
		p.Value = 1
	}
	if !p.Status.HasValue() || !(p.Value > 0) {
		return math.Inf(1), math.Inf(1)
	}
	return p.Random / p.Value, p.Gauges / p.Value
}

// other is an injector of the seating beside the reference.
func (s seating) other(reference string) string {
	for _, id := range s.ids() {
		if id != reference {
			return id
		}
	}
	return reference
}

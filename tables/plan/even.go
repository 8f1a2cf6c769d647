package plan

import (
	"slices"

	"injtab/fit/unit"
)

// even is the plan that spreads the same time evenly: equally spaced pulses, the
// same at every pressure and voltage, as many as the time allows. Injectors that
// are not mapped take the pulses of the condition where they are compared.
func (j *job) even(budget unit.Time, seatings int) ([]spot, choice) {
	conditions := []condition{j.compared()}
	if j.Purpose != Match {
		conditions = nil
		for _, p := range j.pressures {
			for _, v := range j.voltages {
				conditions = append(conditions, condition{p, v})
			}
		}
	}
	for len(conditions) > 1 && j.evenTime(conditions, leastEven, seatings) > budget {
		conditions = j.thin(conditions)
	}
	pulses := leastEven
	for pulses < mostEven && j.evenTime(conditions, pulses+1, seatings) <= budget {
		pulses++
	}
	spots, c := j.spread(conditions, pulses)
	one := newField(j, spots, seatings).time(c)
	for n := 2; unit.Time(n)*one <= budget; n++ { // time is left: repeat it all
		for _, list := range c {
			for k := range list {
				if list[k] > 0 {
					list[k] = n
				}
			}
		}
	}
	return spots, c
}

const (
	leastEven = leastPulses
	mostEven  = 16
)

func (j *job) evenTime(conditions []condition, pulses, seatings int) unit.Time {
	spots, c := j.spread(conditions, pulses)
	return newField(j, spots, seatings).time(c)
}

// thin leaves out every other condition but the reference.
func (j *job) thin(list []condition) []condition {
	var out []condition
	for i, at := range list {
		if i%2 == 0 || at == j.compared() {
			out = append(out, at)
		}
	}
	if len(out) == len(list) { // two are left
		return []condition{j.compared()}
	}
	return out
}

// spread lays equally spaced pulses over conditions.
func (j *job) spread(conditions []condition, pulses int) ([]spot, choice) {
	var spots []spot
	for _, at := range conditions {
		dead := j.expect.DeadTimeAt(j.RatedPressure, at.pressure, at.voltage)
		most := min(j.longest-dead, unit.Ms(longestOpen)).Ms()
		for i := range pulses {
			w := j.shortest + (most-j.shortest)*float64(i)/float64(pulses-1)
			s := j.at(at.pressure, at.voltage, w)
			if !slices.ContainsFunc(spots, func(o spot) bool { return o.condition() == s.condition() && o.pulse == s.pulse }) {
				spots = append(spots, s)
			}
		}
	}
	c := newChoice(len(spots))
	for k, s := range spots {
		scope := mappedOnly
		if s.condition() == j.compared() {
			scope = everyone
		}
		c[scope][k] = 1
	}
	return spots, c
}

const longestOpen = 12.0 // ms, as the candidates

package fit

import (
	"math"

	"injtab/fit/unit"
)

// What follows gives plain numbers, without intervals, for the many evaluations of a
// search.

// FlowOf is a member's static flow in ml/min.
func (m *Model) FlowOf(g int, p unit.Pressure) float64 {
	s, _ := m.sol.flow(m.sol.Local[g], m.sol.Shared, p.KPa())
	return s / mlMinute
}

// MeanFlow is the mean static flow of members in ml/min. All flows go by the pressure
// alike, so that it takes one power for all.
func (m *Model) MeanFlow(who Who, p unit.Pressure) float64 {
	sum := 0.0
	for _, g := range who {
		sum += m.flows[g]
	}
	s, _ := m.sol.flow([]float64{localFlow: 0}, m.sol.Shared, p.KPa())
	return s * sum / float64(len(who)) / mlMinute
}

// DeadTimeOf is a member's dead time in ms; NaN where it does not open.
func (m *Model) DeadTimeOf(g int, p unit.Pressure, v unit.Voltage) float64 {
	return m.MeanDeadTime(Who{g}, p, v)
}

// MeanDeadTime is the mean dead time of members in ms; NaN where one does not open.
func (m *Model) MeanDeadTime(who Who, p unit.Pressure, v unit.Voltage) float64 {
	at := m.deadPlace(place{p.KPa(), v.V()})
	if _, status := m.stateAt(who, p, v, at); !status.HasValue() {
		return math.NaN()
	}
	return m.meanDead(who, at)
}

// deadPlace is what the dead times of all members share at a place.
func (m *Model) deadPlace(at place) deadPlace {
	return m.sol.dead.at(m.sol.deadAt(m.sol.Shared), m.bounds[0], at.p, at.v)
}

// meanDead is the mean dead time of members in ms by the curves alone.
func (m *Model) meanDead(who Who, at deadPlace) (d float64) {
	for _, g := range who {
		d += at.of(m.bounds[g].own) + m.sol.Local[g][localTime]
	}
	return d / float64(len(who))
}

// PulseOf is the pulse in ms at which a member delivers a volume; NaN where it does not
// open.
func (m *Model) PulseOf(g int, volume unit.Volume, p unit.Pressure, v unit.Voltage) float64 {
	d := m.DeadTimeOf(g, p, v)
	if math.IsNaN(d) {
		return d
	}
	return d + m.BendAt(v).open(volume.Ml()/m.FlowOf(g, p)*60000, d)
}

// DeliveredOf is what a member delivers in one pulse, in ml; NaN where it does not open.
func (m *Model) DeliveredOf(g int, pulse unit.Time, p unit.Pressure, v unit.Voltage) float64 {
	return m.MeanDelivered(Who{g}, pulse, p, v)
}

// MeanDelivered is what members deliver on the average in one pulse, in ml; NaN where one
// does not open.
func (m *Model) MeanDelivered(who Who, pulse unit.Time, p unit.Pressure, v unit.Voltage) float64 {
	if _, status := m.state(who, p, v); !status.HasValue() {
		return math.NaN()
	}
	c, q := condition{pulse: pulse.Ms(), period: math.Inf(1), place: place{p.KPa(), v.V()}}, 0.0
	for _, g := range who {
		q += math.Max(m.deliver(g, c).q, 0)
	}
	return q / float64(len(who)) / microlitres
}

// deliver is one shot of a member.
func (m *Model) deliver(g int, c condition) shot {
	here, at := m.sol.spot(c.place), setting{fade: m.fade}
	m.sol.set(&at, &m.bounds[g], m.sol.Local[g], m.sol.Shared, &here)
	return m.sol.shoot(m.sol.Shared, &at, &c, nil)
}

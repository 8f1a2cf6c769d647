package plan

import (
	"math"

	"injtab/fit"
	"injtab/fit/unit"
)

// Classes of injectors: those that are mapped, and the others where there are more
// injectors than slots.
const (
	mapped = iota
	others
)

// A need is a quantity that tables are made from, with the relative standard
// uncertainty that is aimed at.
type need struct {
	fit.Need
	allowed float64
	gauges  float64 // what gauges and vessel leave of it, whatever is measured
}

// needs lists them for the purpose: static flow at every pressure, delivered fuel
// at every pressure and voltage from short pulses to long ones, and each injector's
// difference from the others where they are compared.
func (j *job) needs(classes int) []need {
	var list []need
	add := func(n fit.Need, open float64) {
		allowed := j.allowed(open)
		list = append(list, need{n, allowed, j.common(n, open)})
	}
	if j.Purpose != Match {
		for _, p := range j.pressures {
			add(fit.Need{Kind: fit.StaticFlow, Class: mapped, Pressure: p, Voltage: j.refV}, shortRegion)
			for _, v := range j.voltages {
				for _, w := range j.needed(p, v) {
					add(fit.Need{Kind: fit.DeliveredFor, Class: mapped, Open: unit.Ms(w), Pressure: p, Voltage: v}, w)
				}
			}
		}
	}
	if j.Purpose != Map && j.Number > 1 {
		for class := range classes {
			for _, w := range j.needed(j.refP, j.refV) {
				add(fit.Need{Kind: fit.DeliveredBy, Class: class, Open: unit.Ms(w), Pressure: j.refP, Voltage: j.refV}, w)
			}
		}
	}
	if j.Purpose == Match {
		add(fit.Need{Kind: fit.StaticFlow, Class: classes - 1, Pressure: j.refP, Voltage: j.refV}, shortRegion)
		for _, w := range j.needed(j.refP, j.refV) {
			add(fit.Need{Kind: fit.DeliveredFor, Class: classes - 1, Open: unit.Ms(w), Pressure: j.refP, Voltage: j.refV}, w)
		}
	}
	return list
}

// needed are the open times in ms at which delivered fuel is to be known: several
// where it bends, for nobody knows beforehand where it bends most.
func (j *job) needed(p unit.Pressure, v unit.Voltage) []float64 {
	most := (j.longest - j.expect.DeadTimeAt(j.RatedPressure, p, v)).Ms()
	var list []float64
	first := math.Max(j.shortest, leastNeeded)
	for _, w := range []float64{first, first + 0.1, first + 0.25, shortRegion, 4} {
		list = append(list, math.Min(w, most))
	}
	return list
}

const leastNeeded = 0.8 // ms of open time: shorter pulses than engines idle on

// common is what gauges and vessel leave of a need however much is measured. Of
// differences between injectors the vessel alone remains, as long as each slot has
// its own.
func (j *job) common(n fit.Need, open float64) float64 {
	vessel := float64(j.vessel.Tolerance/j.filling) / math.Sqrt(3)
	switch n.Kind {
	case fit.DeliveredBy:
		return vessel
	case fit.StaticFlow:
		return math.Hypot(vessel, 0.5*float64(j.PressureLimit)/math.Sqrt(3))
	}
	return math.Hypot(vessel, j.gauges(j.at(n.Pressure, n.Voltage, open)))
}

// aim is the uncertainty to reach: the one allowed or, where gauges alone come near
// it or are above it, what they leave with half as much by chance.
func (n need) aim() float64 {
	return math.Max(n.allowed, math.Hypot(n.gauges, n.gauges/2))
}

// ratio is an uncertainty by chance and by gauges over the aim.
func (n need) ratio(random, gauges float64) float64 { return math.Hypot(random, gauges) / n.aim() }

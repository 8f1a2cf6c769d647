package tables

import "math"

// A carrier parts the short-pulse correction between the tables. A correction over
// pulse alone is right at the reference condition; what it misses at another voltage
// or pressure is carried by the dead time there, as far as one number for all pulses
// can. The correction over voltage and pulse is then less by what the dead time
// carries, so that both forms add up.
type carrier struct {
	pulses    []float64 // effective, ms
	weights   []float64 // a miss counts as a part of the fuel
	reference []float64 // correction of the mean injector at the reference condition, ms
}

// carryFrom is the effective pulse in ms from which pulses count: shorter ones are no
// engine's idle (common practice, no source), and would pull the others along.
const carryFrom = 0.9

func (b *builder) newCarrier() (c carrier) {
	lo, hi := b.shortRange()
	c.pulses, c.weights = shortSamples(math.Min(math.Max(lo, carryFrom), hi), hi, 10)
	at := b.correctionAt(b.refP.KPa(), b.refV.V())
	for i, u := range c.pulses {
		c.reference = append(c.reference, at(u))
		c.weights[i] *= b.weightAt(pulseAxis, u)
	}
	return c
}

// carried is the part in ms of the short-pulse correction that the dead time at a
// pressure and voltage carries: 0 at the reference condition.
func (b *builder) carried(p, v float64) float64 {
	at := b.correctionAt(p, v)
	var sum, all float64
	for i, u := range b.carry.pulses {
		w := b.carry.weights[i] * b.carry.weights[i]
		sum += w * (at(u) - b.carry.reference[i])
		all += w
	}
	return sum / all
}

// tableDead is what the dead-time table holds for a pressure and voltage, in ms; NaN
// where an injector does not open.
func (b *builder) tableDead(p, v float64) float64 {
	d := b.meanDead(p, v)
	if math.IsNaN(d) {
		return d
	}
	return d + b.carried(p, v)
}

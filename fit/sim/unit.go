package sim

import (
	"math/rand/v2"

	"injtab/fit/unit"
)

// Spread of a family, one standard deviation. Plausible values of our own.
const (
	flowSpread   = 0.03
	springSpread = 0.08
	forceSpread  = 0.05
	seatSpread   = 0.05
)

// A Unit is one injector: its own values of the design's, and what is wrong with it.
type Unit struct {
	Design
	Fault Fault
}

// A Fault is what is wrong with a unit; the zero value is a sound one.
type Fault struct {
	Dead  bool    // coil or lead broken: never opens
	Leak  float64 // m², opening that passes liquid all the time
	Stick float64 // N, adhesion that a needle must break to leave its seat
	Loose float64 // 1, from one reading to the next the spring load and the plate's opening change by this part
}

// Nominal is the unit in the middle of the family.
func (d Design) Nominal() Unit { return Unit{Design: d} }

// Unit draws a member of the family: flow (plate and curtain alike), spring load,
// magnetic force and seat area differ from the design independently, by no more than
// three standard deviations.
func (d Design) Unit(rng *rand.Rand) Unit {
	flow := 1 + flowSpread*draw(rng)
	d.Orifice *= flow
	d.Curtain *= flow
	d.Preload *= 1 + springSpread*draw(rng)
	d.GapRate *= 1 + forceSpread*draw(rng)
	d.SeatArea *= 1 + seatSpread*draw(rng)
	return d.Nominal()
}

// draw gives a standard normal number within ±3.
func draw(rng *rand.Rand) float64 {
	for {
		if x := rng.NormFloat64(); -3 <= x && x <= 3 {
			return x
		}
	}
}

// PerShot is the volume of one shot in steady repetition; see Truth.PerShot,
// which is faster when one unit is asked often.
func (u Unit) PerShot(pulse, period unit.Time, p unit.Pressure, v unit.Voltage, temp unit.Temperature) unit.Volume {
	return u.Truth().PerShot(pulse, period, p, v, temp)
}

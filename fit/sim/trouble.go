package sim

import (
	"math"
	"math/rand/v2"
)

// A Trouble is what is wrong with an injector, in a mechanic's words.
type Trouble uint8

const (
	None     Trouble = iota
	Dead             // does not open
	Leaking          // passes liquid while closed
	Outlier          // flows far more or less than its family
	Sticking         // sticks to its seat, opens late
	Erratic          // delivers something else every time
)

func (t Trouble) String() string {
	return [...]string{"none", "dead", "leaking", "outlier", "sticking", "erratic"}[t]
}

// With gives the unit a trouble of a size drawn at random: a leak of some ml/min, a
// flow 14 to 22 % off, an adhesion that a weak supply hardly breaks, or a spring and
// plate that change by 6 % from reading to reading.
func (u Unit) With(t Trouble, rng *rand.Rand) Unit {
	switch t {
	case Dead:
		u.Fault.Dead = true
	case Leaking:
		u.Fault.Leak = 0.7e-9 + 1e-9*rng.Float64()
	case Outlier:
		off := 0.14 + 0.08*rng.Float64()
		if rng.IntN(2) == 0 {
			off = -off
		}
		u.Orifice *= 1 + off
		u.Curtain *= 1 + off
	case Sticking:
		u.Fault.Stick = 1.5 + rng.Float64()
	case Erratic:
		u.Fault.Loose = 0.06
	}
	return u
}

// shaken is the unit as it happens to be during one reading.
func (u Unit) shaken(rng *rand.Rand) Unit {
	if u.Fault.Loose <= 0 {
		return u
	}
	flow := 1 + u.Fault.Loose*draw(rng)
	u.Orifice *= flow
	u.Curtain *= flow
	u.Preload *= math.Max(0.5, 1+u.Fault.Loose*draw(rng))
	return u
}

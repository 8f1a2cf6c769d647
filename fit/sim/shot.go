package sim

import "math"

// A condition is what a session can set, in SI units.
type condition struct{ pressure, volts, temp float64 }

// An opening is a switch-on from rest, integrated once and as far as it has been
// asked for; every shot at its condition starts along it.
type opening struct {
	*model
	states  []state // at 0, 1, 2 … steps
	settled bool    // the last state holds for ever: flux steady, needle still
}

// steady is how far from its last value, relative, a flux counts as steady.
const steady = 1e-6

func newOpening(u Unit, c condition) *opening {
	return &opening{model: newModel(u, c), states: make([]state, 1, 512)}
}

// at is the state t seconds after switch-on.
func (o *opening) at(t float64) state {
	n := int(t / o.step)
	for len(o.states) <= n && !o.settled {
		s := o.forward(o.states[len(o.states)-1], o.step, true)
		o.states = append(o.states, s)
		o.settled = s.needle != between && o.fluxRate(o.magnetising(s.flux, s.lift), true) < steady*o.supply
	}
	if last := len(o.states) - 1; n > last {
		return o.hold(o.states[last], t-float64(last)*o.step)
	}
	return o.forward(o.states[n], t-float64(n)*o.step, true)
}

// hold lets a settled state last.
func (o *opening) hold(s state, t float64) state {
	if s.needle == atStop {
		s.volume += t * o.flowPerLift(s.lift) * s.lift
	}
	return s
}

// shot is the volume in m³ of one shot in steady repetition, leak included.
func (o *opening) shot(pulse, period float64) float64 {
	switch {
	case pulse <= 0:
		return o.leak * period
	case pulse >= period:
		s := o.at(pulse + longest)
		return (o.leak + o.hold(state{needle: s.needle, lift: s.lift}, 1).volume) * period
	}
	end, fresh := o.close(o.at(pulse), period-pulse)
	for round := 0; !fresh && round < rounds; round++ {
		was := end.volume
		end.volume = 0
		end, fresh = o.close(o.run(end, pulse, true), period-pulse)
		if math.Abs(end.volume-was) <= agree*was {
			break
		}
	}
	return end.volume + o.leak*period
}

const (
	longest = 0.2  // s, by which every opening has settled
	rounds  = 200  // repetitions after which a shot counts as steady
	agree   = 1e-8 // part within which two repetitions are the same
	forget  = 1e-5 // part of the flux needed to open that no longer matters
)

// run integrates t seconds from s.
func (m *model) run(s state, t float64, on bool) state {
	for ; t > 0; t -= m.step {
		s = m.forward(s, min(t, m.step), on)
	}
	return s
}

// close integrates the time with the switch off. It ends early, and says so, when
// the next shot will be as one from rest.
func (m *model) close(s state, off float64) (end state, fresh bool) {
	for ; off > 0; off -= m.step {
		if m.fades(s, off) {
			return s, true
		}
		s = m.forward(s, min(off, m.step), false)
	}
	return s, m.fades(s, 0)
}

// fades tells whether the needle is down and in off seconds the flux will be too
// little to matter. Once the coil carries no current, the flux dies away at least
// as fast as eddy currents at full inductance let it.
func (m *model) fades(s state, off float64) bool {
	if s.needle != onSeat || m.clamped(m.magnetising(s.flux, 0)) {
		return false
	}
	return s.flux*math.Exp(-off*m.invL/m.eddy) <= forget*m.needed()
}

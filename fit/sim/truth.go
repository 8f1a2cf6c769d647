package sim

import (
	"math"

	"injtab/fit/unit"
)

// A Truth answers what one unit delivers. It keeps the openings it has integrated,
// so that further pulses at a pressure and voltage cost little. It is not safe for
// use by several goroutines at once.
type Truth struct {
	unit     Unit
	openings map[condition]*opening
}

// Truth makes the unit ready to be asked.
func (u Unit) Truth() *Truth { return &Truth{u, map[condition]*opening{}} }

// Unit is the injector that t is the truth about.
func (t *Truth) Unit() Unit { return t.unit }

// PerShot is the volume of one shot of a pulse repeated every period, once all
// shots are alike: 0 if the needle does not lift, the full flow for the whole
// period if it never closes. The pressure is the one across the injector, the
// voltage the one at the injector; a zero temperature means RoomTemp.
func (t *Truth) PerShot(pulse, period unit.Time, p unit.Pressure, v unit.Voltage, temp unit.Temperature) unit.Volume {
	return unit.Volume(t.opening(p, v, temp).shot(float64(pulse), float64(period)))
}

func (t *Truth) opening(p unit.Pressure, v unit.Voltage, temp unit.Temperature) *opening {
	c := newCondition(p, v, temp)
	o, ok := t.openings[c]
	if !ok {
		o = newOpening(t.unit, c)
		t.openings[c] = o
	}
	return o
}

func newCondition(p unit.Pressure, v unit.Voltage, temp unit.Temperature) condition {
	if temp <= 0 {
		temp = RoomTemp
	}
	return condition{float64(p), float64(v), float64(temp)}
}

// StaticFlow is the flow with the needle at its upper stop, at RoomTemp.
func (u Unit) StaticFlow(p unit.Pressure) unit.VolumeFlow {
	m := newModel(u, newCondition(p, 0, 0))
	return unit.VolumeFlow(m.flowPerLift(m.lift)*m.lift + m.leak)
}

// OpensAt is the lowest voltage that lifts the needle if it is given time, at
// RoomTemp; +Inf for a dead unit.
func (u Unit) OpensAt(p unit.Pressure) unit.Voltage {
	if u.Fault.Dead {
		return unit.Voltage(math.Inf(1))
	}
	m := newModel(u, newCondition(p, 0, 0))
	return unit.Voltage(m.ohms*m.magnetising(m.needed(), 0) + u.Drop)
}

// DeadTime is what long pulses lose: pulse − volume ÷ static flow of a pulse long
// enough for the flux to settle, the needle closing before the next one.
func (t *Truth) DeadTime(p unit.Pressure, v unit.Voltage) unit.Time {
	const pulse, period = 40e-3, 200e-3
	q := t.PerShot(pulse, period, p, v, 0)
	full := t.PerShot(period, period, p, v, 0) / period
	return pulse - unit.Time(q/full)
}

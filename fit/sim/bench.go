package sim

import (
	"math"
	"math/rand/v2"

	"injtab/fit/unit"
)

// A Bench is how well a flow bench and its operator measure. A limit bounds an
// error that is anywhere within it alike and stays for the whole session; the rest
// are standard deviations of errors that are new in every run or reading.
type Bench struct {
	Slots    int         // injectors that run together, each above a vessel of its own
	Capacity unit.Volume // of a vessel
	Division unit.Volume // smallest division of a vessel

	PressureLimit unit.Ratio  // gauge
	VoltageLimit  unit.Ratio  // voltmeter
	TimerLimit    unit.Time   // length of a pulse
	VesselLimit   unit.Volume // calibration of one vessel, at its full mark
	SlotLimit     unit.Ratio  // flow of one slot, from the shape of the rail
	CountLimit    float64     // shots more or less than were counted, new in each run

	PressureDrift unit.Ratio   // from run to run
	VoltageDrift  unit.Voltage // from run to run
	Technique     unit.Ratio   // part of a reading: catching, aerating, temperature
	Residue       unit.Volume  // what draining leaves in a vessel, one time and another
	Judgement     unit.Ratio   // of a division, by eye
}

// GoodBench is a careful bench with 100 ml vessels of 1 ml divisions.
func GoodBench() Bench {
	return Bench{
		Slots: 4, Capacity: unit.Ml(100), Division: unit.Ml(1),
		PressureLimit: 0.005, VoltageLimit: 0.004, TimerLimit: unit.Ms(0.005),
		VesselLimit: unit.Ml(1), CountLimit: 1,
		PressureDrift: 0.003, VoltageDrift: 0.02, Technique: 0.002,
		Residue: unit.Ml(0.15), Judgement: 0.15,
	}
}

// HobbyBench is a home-made bench with 250 ml cylinders of 2 ml divisions, class B
// (ASTM E1272-02(2012), Table 1: least graduation 2.0 ml, tolerance 2.00 ml).
func HobbyBench() Bench {
	b := GoodBench()
	b.Capacity, b.Division, b.VesselLimit = unit.Ml(250), unit.Ml(2), unit.Ml(2)
	b.PressureLimit, b.VoltageLimit = 0.01, 0.005
	b.PressureDrift, b.VoltageDrift, b.Technique = 0.004, 0.03, 0.003
	return b
}

// Errors are those of a session that stay: how much more than shown there really
// was, and how much more than there really was a vessel shows.
type Errors struct {
	Pressure unit.Ratio
	Voltage  unit.Ratio
	Timer    unit.Time
	Vessels  []unit.Ratio // by slot
	Slots    []unit.Ratio // by slot
}

// errors draws those of a new session.
func (b Bench) errors(rng *rand.Rand) Errors {
	e := Errors{
		Pressure: unit.Ratio(within1(rng)) * b.PressureLimit,
		Voltage:  unit.Ratio(within1(rng)) * b.VoltageLimit,
		Timer:    unit.Time(within1(rng)) * b.TimerLimit,
	}
	for range b.Slots {
		e.Vessels = append(e.Vessels, unit.Ratio(within1(rng))*unit.Ratio(b.VesselLimit/b.Capacity))
		e.Slots = append(e.Slots, unit.Ratio(within1(rng))*b.SlotLimit)
	}
	return e
}

// within1 is anywhere in ±1 alike.
func within1(rng *rand.Rand) float64 { return 2*rng.Float64() - 1 }

// A drift is what differs in one run of the bench.
type drift struct {
	pressure unit.Ratio
	voltage  unit.Voltage
	shots    float64
}

func (b Bench) drift(rng *rand.Rand) drift {
	return drift{
		pressure: unit.Ratio(draw(rng)) * b.PressureDrift,
		voltage:  unit.Voltage(draw(rng)) * b.VoltageDrift,
		shots:    within1(rng) * b.CountLimit,
	}
}

// deliver is the volume that really leaves u in a run that the operator takes for
// shots at point.
func (b Bench) deliver(u Unit, at Point, shots float64, e Errors, d drift) unit.Volume {
	pulse, p := at.Pulse, at.Pressure*unit.Pressure(1+e.Pressure)*unit.Pressure(1+d.pressure)
	if !at.static() && !at.leak() {
		pulse += e.Timer
	}
	v := at.Voltage*unit.Voltage(1+e.Voltage) + d.voltage
	return u.PerShot(pulse, at.Period, p, v, 0) * unit.Volume(shots+d.shots)
}

// read is what the operator reads off a slot's vessel that received volume.
func (b Bench) read(volume unit.Volume, slot int, e Errors, rng *rand.Rand) unit.Volume {
	x := float64(volume) * (1 + float64(e.Slots[slot])) * (1 + float64(b.Technique)*draw(rng))
	x *= 1 + float64(e.Vessels[slot])
	x += float64(b.Residue)*draw(rng) + float64(b.Judgement)*float64(b.Division)*draw(rng)
	return b.Division * unit.Volume(math.Max(0, math.Round(x/float64(b.Division))))
}

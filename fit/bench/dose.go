package bench

import "injtab/fit/unit"

// A Dose is what a reading asked of its injector and what it got. A Reading has four times
// as many bytes, which make a tenth of the time in which a million are compared with tables.
type Dose struct {
	Pulse, Period unit.Time
	Shots         float64
	Volume        unit.Volume
	Pressure      unit.Pressure
	Voltage       unit.Voltage
}

// Dose is that of reading k.
func (rs *Readings) Dose(k int) Dose {
	x := &rs.rows[k]
	c := &rs.commons[x.common]
	return Dose{c.pulse, c.period, c.shots, x.volume, c.pressure, c.voltage}
}

// Dose is that of a reading.
func (r Reading) Dose() Dose {
	return Dose{r.Pulse, r.Period, r.Shots, r.Volume, r.Pressure, r.Voltage}
}

// PerShot is the delivered volume of one pulse.
func (d Dose) PerShot() unit.Volume { return unit.Volume(float64(d.Volume) / d.Shots) }

// Static tells whether the injector was held open for the whole reading.
func (d Dose) Static() bool { return d.Pulse > 0 && d.Pulse >= d.Period }

// Leak tells whether the injector was under pressure without pulses.
func (d Dose) Leak() bool { return d.Pulse == 0 }

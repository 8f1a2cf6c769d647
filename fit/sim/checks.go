package sim

import "injtab/fit/unit"

// A Check is a shot between the measured conditions, with its true volume.
type Check struct {
	Pulse, Period unit.Time
	Pressure      unit.Pressure
	Voltage       unit.Voltage
	Volume        unit.Volume
	Effective     unit.Time // Volume ÷ static flow at Pressure
}

// Checks are shots where engines run: 12.6 to 14.5 V, 235 to 425 kPa, from 0.9 ms
// effective upwards, none at a condition that the plans of this package measure.
func (t *Truth) Checks() []Check {
	var list []Check
	for _, v := range []unit.Voltage{12.6, 13.2, 13.9, 14.5} {
		for _, kPa := range []float64{235, 275, 340, 425} {
			list = append(list, t.checksAt(unit.KPa(kPa), v)...)
		}
	}
	return list
}

func (t *Truth) checksAt(p unit.Pressure, v unit.Voltage) []Check {
	const period, least = 25e-3, 0.9e-3
	dead, flow := t.DeadTime(p, v), t.unit.StaticFlow(p)
	var list []Check
	for _, open := range []float64{0.95, 1.1, 1.25, 1.4, 1.6, 1.8, 2.1, 2.5, 3.2, 4.5, 7, 11} {
		c := Check{Pulse: dead + unit.Ms(open), Period: period, Pressure: p, Voltage: v}
		c.Volume = t.PerShot(c.Pulse, period, p, v, 0)
		c.Effective = unit.Time(float64(c.Volume) / float64(flow))
		if c.Effective >= least {
			list = append(list, c)
		}
	}
	return list
}

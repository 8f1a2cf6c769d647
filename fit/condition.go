package fit

import (
	"math"

	"injtab/fit/bench"
)

// A place is where an injector works.
type place struct {
	p float64 // kPa
	v float64 // V
}

// A condition is what an injector is asked to do there, in working units.
type condition struct {
	place
	pulse, period float64 // ms
	static        bool    // held open for the whole period
}

func conditionOf(r bench.Dose) condition {
	return condition{
		pulse: r.Pulse.Ms(), period: r.Period.Ms(),
		place: place{p: r.Pressure.KPa(), v: r.Voltage.V()}, static: r.Static(),
	}
}

// offTime is the time between two pulses in ms.
func (c condition) offTime() float64 { return c.period - c.pulse }

// Working units of volume and flow: 1 ml = 1000 µl; 1 ml/min = 1000 µl / 60 000 ms.
const (
	microlitres = 1000.0     // per ml
	mlMinute    = 1.0 / 60.0 // µl/ms per ml/min
)

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

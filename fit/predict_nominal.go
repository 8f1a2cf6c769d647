package fit

import (
	"math"

	"injtab/fit/internal/lsq"
	"injtab/fit/unit"
)

// What the fit usually finds, from sessions of simulated injectors: where the
// Jacobian of a planned session is taken.
var (
	usualCoil = [coilDelta]float64{coilT0: -0.3, coilTau: 0.25, coilA: 1.93, coilB: 0.065}
	usualBend = [4]float64{bendE: 0.17, bendB: -0.4, bendM: -0.3, bendK: 0.7}
	usualLift = [3]float64{0.43, 0.74, 0.2}
)

// generic is the coil form with a bend, its flow and dead time those expected.
func (e Expectation) generic(rated unit.Pressure) (family, lsq.Start) {
	th := e.coil()
	f := newFamily(rated.KPa(), referenceVoltage, true, coil{ref: rated.KPa()},
		returning{refD: coilTime(th, 1, referenceVoltage), voltage: true, lift: true})
	return f, e.start(f, rated, 1)
}

// start lays the expectation out for a form: every injector alike.
func (e Expectation) start(f family, rated unit.Pressure, groups int) lsq.Start {
	s := lsq.Start{Shared: make([]float64, f.shared())}
	s.Shared[0] = f.fixedN
	th, part := e.coil(), f.refP/rated.KPa()
	switch c := f.dead.(type) {
	case coil:
		copy(s.Shared[1:], th)
		s.Shared[1+coilB] *= part
	case curve:
		for i, v := range c.nodes.at {
			s.Shared[1+i] = coilTime(th, part, v)
		}
		if c.pressure {
			const h = 1e-3
			s.Shared[f.nDead] = (coilTime(th, (1+h)*part, f.refV) - coilTime(th, (1-h)*part, f.refV)) / (2 * h)
		}
	}
	copy(f.bendAt(s.Shared)[:f.bend.liftAt()], usualBend[:])
	copy(f.bendAt(s.Shared)[f.bend.liftAt():], usualLift[:])
	flow := math.Log(e.Flow.MlMin()*mlMinute) + f.fixedN*math.Log(part)
	for range groups {
		s.Local = append(s.Local, []float64{localFlow: flow, localPull: 0, localTime: 0})
	}
	return s
}

// coil gives the usual parameters of the coil form about the rated pressure, its
// times stretched so that the dead time there at 13.5 V is the one expected.
func (e Expectation) coil() []float64 {
	th := usualCoil
	if e.DeadTime > 0 {
		stretch := e.DeadTime.Ms() / coilTime(th[:], 1, referenceVoltage)
		th[coilT0] *= stretch
		th[coilTau] += math.Log(stretch)
	}
	return th[:]
}

// coilTime is the dead time in ms of the coil form at a part of its reference
// pressure.
func coilTime(th []float64, part, v float64) float64 {
	c := coil{ref: 1}
	d, _ := c.eval(th, c.bind(th, 0), c.locate(place{part, v}), nil)
	return d
}

// DeadTimeAt is the dead time in ms that is expected at a pressure and voltage.
func (e Expectation) DeadTimeAt(rated, p unit.Pressure, v unit.Voltage) unit.Time {
	return unit.Ms(coilTime(e.coil(), float64(p/rated), v.V()))
}

// OpensAt is the voltage below which the injector is expected not to open.
func (e Expectation) OpensAt(rated, p unit.Pressure) unit.Voltage {
	c := coil{ref: 1}
	return unit.Volts(c.at(e.coil(), c.bind(e.coil(), 0), float64(p/rated), referenceVoltage).opening(1))
}

// PerShot is the volume of one pulse that is expected; a pulse as long as the
// period is an injector held open.
func (e Expectation) PerShot(rated unit.Pressure, pulse, period unit.Time, p unit.Pressure, v unit.Voltage) unit.Volume {
	if pulse <= 0 {
		return 0
	}
	f, start := e.generic(rated)
	c := condition{pulse: pulse.Ms(), period: period.Ms(), place: place{p.KPa(), v.V()}, static: pulse >= period}
	return unit.Ml(math.Max(f.deliver(start.Local[0], start.Shared, c, nil, nil).q, 0) / microlitres)
}

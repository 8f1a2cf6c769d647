package engine

import (
	"fmt"

	"injtab/fit/diag"
	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// Idle is what an injector must do at the low end.
type Idle struct {
	RPM            float64 `json:"rpm"`
	FuelPerPulse   float64 `json:"fuel_per_pulse_mg"`
	AcrossInjector float64 `json:"pressure_across_injector_kpa"`
	Pulse          float64 `json:"pulse_ms"`
	LinearFrom     float64 `json:"linear_from_ms"`      // smallest commanded pulse on the straight line
	SmallestFuel   float64 `json:"smallest_fuel_mg"`    // delivered by that pulse
	TooBig         bool    `json:"too_big"`             // the idle pulse is shorter
	LargestFlow    float64 `json:"largest_flow_ml_min"` // at rated pressure, that would still idle
	TurndownNeeded float64 `json:"turndown_needed"`     // fuel per pulse at full load ÷ at idle
	TurndownLinear float64 `json:"turndown_linear"`     // of the injector, linear pulse to the limit
	FromAir        bool    `json:"from_air"`            // idle fuel was worked out, not given
}

// idleCase is the engine at idle: what each injector of the first set must give.
type idleCase struct {
	perPulse unit.Mass
	dp       unit.Pressure
	fromAir  bool
}

// idleCase works out the fuel per pulse at idle, from the fuel of the whole engine
// or else from the air: at idle lambda is 1 and the charge as warm as 40 °C. The
// secondary injectors are shut. ok is false where neither can be known.
func (f *filled) idleCase() (c idleCase, ok bool) {
	if !given(f.IdleFuel) && !given(f.Displacement) {
		return c, false
	}
	fallback(f, &f.IdleRPM, 850, "idle_rpm", "850", practice)
	fallback(f, &f.IdleMAP, unit.KPa(30), "idle_map", "30 kPa", practice)
	fuel := fluid.MassFlow(f.IdleFuel, f.density)
	if !given(f.IdleFuel) {
		fallback(f, &f.IdleVE, 0.70, "idle_ve", "70 %", practice)
		air := Air(f.Displacement, f.IdleRPM, f.IdleVE, f.IdleMAP, unit.Celsius(40))
		fuel, c.fromAir = FuelFromAir(air, 1, f.Fuel.Stoich), true
	}
	s := f.sets[0]
	c.perPulse = FuelPerPulse(fuel, Window(f.IdleRPM, s.pulses), s.injectors)
	// The manifold is below the surrounding air, so something always drives fuel.
	c.dp, _ = AcrossInjector(f.Pressure, f.Regulator, f.IdleMAP-f.ambient)
	return c, c.dp > 0
}

// linearFrom is the shortest pulse to rely on, measured or by default.
func (f *filled) linearFrom(measured unit.Time) unit.Time {
	if given(measured) {
		return measured
	}
	fallback(f, &f.LinearFrom, unit.Ms(1.5), "linear_from", "1.5 ms", practice+"; measured pulses are better")
	return f.LinearFrom
}

// judge says how an injector with this static mass flow (at the idle pressure) and
// dead time idles. full is its fuel per pulse at full load, longest the pulse at
// the duty limit there.
func (c idleCase) judge(f *filled, static unit.MassFlow, dead, from unit.Time, full unit.Mass, longest unit.Time) Idle {
	pulse := PulseFor(c.perPulse, static, dead)
	smallest := unit.Mass(float64(static) * float64(from-dead))
	largest := unit.MassFlow(float64(c.perPulse) / float64(from-dead))
	return Idle{
		RPM: f.IdleRPM, FuelPerPulse: c.perPulse.Mg(), AcrossInjector: c.dp.KPa(),
		Pulse: pulse.Ms(), LinearFrom: from.Ms(), SmallestFuel: smallest.Mg(), FromAir: c.fromAir,
		TooBig:         pulse < from,
		LargestFlow:    FlowAt(fluid.VolumeFlow(largest, f.density), c.dp, f.RatedPressure, f.Exponent).MlMin(),
		TurndownNeeded: float64(full / c.perPulse),
		TurndownLinear: float64((longest - dead) / (from - dead)),
	}
}

// idle judges the injector just sized. Without dead time and speed it can't.
func (r *SizeResult) idle(f *filled) {
	if !given(f.DeadTime) || !given(f.RPM) {
		return
	}
	c, ok := f.idleCase()
	if !ok {
		return
	}
	from := f.linearFrom(0)
	if from <= f.DeadTime {
		r.notes = append(r.notes, deadBeyondLinear(from, f.DeadTime))
		return
	}
	static := fluid.MassFlow(FlowAt(unit.MlMin(r.InjectorFlow), f.RatedPressure, c.dp, f.Exponent), f.density)
	idle := c.judge(f, static, f.DeadTime, from, unit.Mass(r.PerPulse/1e6), unit.Ms(r.Pulse))
	r.Idle = &idle
	if idle.TooBig {
		r.notes = append(r.notes, idle.tooBig("The injector that full load needs"))
	}
}

func (i Idle) tooBig(who string) diag.Note {
	return diag.Warn("too_big_to_idle",
		"%s is too big to idle well: at %.0f rpm it needs a pulse of %.3g ms for %.3g mg, and below %.3g ms it is no longer linear. It would do with a flow up to %.4g ml/min; more smaller injectors, a second set that joins in at high load, or a short-pulse table are the ways out.",
		who, i.RPM, i.Pulse, i.FuelPerPulse, i.LinearFrom, i.LargestFlow)
}

func deadBeyondLinear(from, dead unit.Time) diag.Note {
	return diag.Warn("linear_below_dead_time",
		"The shortest linear pulse of %.3g ms is no longer than the dead time of %.3g ms, so the low end can't be judged: measure from which pulse the injector is linear (linear_from).", from.Ms(), dead.Ms())
}

// String says how it idles.
func (i Idle) String() string {
	how := "worked out from the air at idle"
	if !i.FromAir {
		how = "as given"
	}
	return fmt.Sprintf("At %.0f rpm each pulse must give %.3g mg (%s) and lasts %.3g ms, with %.4g kPa across the injector.", i.RPM, i.FuelPerPulse, how, i.Pulse, i.AcrossInjector)
}

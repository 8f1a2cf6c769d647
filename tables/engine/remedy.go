package engine

import (
	"fmt"

	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// A Remedy is one change and what it buys at the target, or where there is none
// in the present condition. Nulls are what can't be reached.
type Remedy struct {
	Name     string   `json:"remedy"`
	Duty     *float64 `json:"duty_pct"`
	MaxPower *float64 `json:"max_power_kw"`
	MaxBoost *float64 `json:"max_boost_kpa"`
	Mind     string   `json:"mind"` // what it costs
}

// railStep is the rise of rail pressure that is tried.
const railStep = unit.Pressure(100e3)

// remedies tries what can be changed, one thing at a time.
func (r *HeadroomResult) remedies(l load, aim *filled) {
	r.tryInputs(l, "as it is", "", aim.asked, aim)
	in := aim.asked
	in.Pressure = aim.Pressure + railStep
	r.tryInputs(l, fmt.Sprintf("rail pressure %.4g kPa instead of %.4g kPa", in.Pressure.KPa(), aim.Pressure.KPa()),
		"the pump must deliver it, and dead time grows with pressure as a rule", in, aim)
	if aim.Regulator == Fixed && aim.Boost > 0 {
		in = aim.asked
		in.Regulator = Manifold
		r.tryInputs(l, "manifold-referenced regulator", "the rail rises with boost, and the pump with it", in, aim)
	}
	in = aim.asked
	in.Injectors, in.PulsesPerCycle = 2*aim.sets[0].injectors, aim.sets[0].pulses
	r.tryInputs(l, fmt.Sprintf("%d injectors like these instead of %d", in.Injectors, aim.sets[0].injectors), "idle fuel per injector halves", in, aim)
	if aim.Fuel.Stoich < 0.97*gasoline.Stoich {
		r.tryInputs(l, fmt.Sprintf("gasoline instead of %s", aim.Fuel.Name), "knock: power and boost may have to come down", switchFuel(aim.asked, gasoline, aim.Fuel), aim)
	}
	r.largerInjectors(l, aim)
	r.lowerLimits(l, aim)
}

// tryInputs adds the remedy that these inputs describe; one that is out of reach
// is left out.
func (r *HeadroomResult) tryInputs(l load, name, mind string, in Inputs, aim *filled) {
	g, err := fill(in)
	if err != nil {
		return
	}
	g.crank = aim.crank
	r.tryLoad(l, name, mind, &g)
}

func (r *HeadroomResult) tryLoad(l load, name, mind string, f *filled) {
	o, err := l.find(f)
	if err != nil {
		return
	}
	duty := o.duty().Pct()
	remedy := Remedy{Name: name, Duty: &duty, Mind: mind, MaxBoost: l.maxBoost(f)}
	if fuel, err := l.fuelAtLimit(f); err == nil && fuel > 0 {
		kw := PowerFromFuel(fuel, f.BSFC).KW()
		remedy.MaxPower = &kw
	}
	r.Remedies = append(r.Remedies, remedy)
}

// scaled is an injector with another flow and the same dead time.
type scaled struct {
	Injector
	factor unit.VolumeFlow
}

func (s scaled) Static(dp unit.Pressure) (flow, ci95 unit.VolumeFlow) {
	flow, ci95 = s.Injector.Static(dp)
	return flow * s.factor, ci95 * s.factor
}

// largerInjectors finds the flow with which the leanest injector would be at the
// duty limit.
func (r *HeadroomResult) largerInjectors(l load, aim *filled) {
	o, err := l.find(aim)
	if err != nil || o.duty() <= aim.Duty {
		return
	}
	need, err := StaticFlow(o.perPulse, unit.Time(float64(o.window)*float64(aim.Duty)), o.dead)
	if err != nil {
		return // not even the largest injector would do
	}
	big := load{voltage: l.voltage}
	for _, i := range l.injectors {
		big.injectors = append(big.injectors, scaled{i, unit.VolumeFlow(need / o.flow)})
	}
	label := FlowAt(fluid.VolumeFlow(need, aim.density), aim.dp, aim.RatedPressure, aim.Exponent)
	r.tryLoad(big, fmt.Sprintf("injectors of %.4g ml/min at %.4g kPa", label.MlMin(), aim.RatedPressure.KPa()), "idle: see the low end; dead time taken as that of the present ones", aim)
}

// lowerLimits finds the speed and the boost to stop at.
func (r *HeadroomResult) lowerLimits(l load, aim *filled) {
	if l.dutyAt(aim, aim.RPM, aim.Boost) <= float64(aim.Duty) {
		return
	}
	if rpm := l.maxRPM(aim); rpm != nil {
		if g, err := aim.at(*rpm, aim.Boost); err == nil {
			r.tryLoad(l, fmt.Sprintf("stop at %.0f rpm", *rpm), "power falls with speed", &g)
		}
	}
	if boost := l.maxBoost(aim); boost != nil && aim.Boost > 0 {
		if g, err := aim.at(aim.RPM, unit.KPa(*boost)); err == nil {
			r.tryLoad(l, fmt.Sprintf("stop at %.4g kPa boost", *boost), "power falls with boost", &g)
		}
	}
}

// idle judges the low end of the injector with the most flow.
func (r *HeadroomResult) idle(l load, now *filled) {
	c, ok := now.idleCase()
	if !ok {
		return
	}
	at, err := l.find(now)
	if err != nil {
		return
	}
	var biggest Injector
	var static unit.MassFlow
	for _, i := range l.injectors {
		if flow, _ := massStatic(i, now.density, c.dp); biggest == nil || flow > static {
			biggest, static = i, flow
		}
	}
	dead, err := biggest.DeadTime(c.dp, l.voltage)
	if err != nil {
		return
	}
	from := now.linearFrom(biggest.LinearFrom())
	if from <= dead {
		r.notes = append(r.notes, deadBeyondLinear(from, dead))
		return
	}
	longest := unit.Time(float64(at.window) * float64(now.Duty))
	idle := c.judge(now, static, dead, from, at.perPulse, longest)
	r.Idle = &idle
	if idle.TooBig {
		r.notes = append(r.notes, idle.tooBig("Injector "+biggest.Name()))
	}
}

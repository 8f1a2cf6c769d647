package engine

import (
	"fmt"
	"slices"

	"injtab/fit/diag"
	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// A Target is what is to change; zero fields stay as they are.
type Target struct {
	Boost    *unit.Pressure
	RPM      float64
	Power    unit.Power // measured where Inputs.Power is
	Fuel     fluid.Fluid
	Pressure unit.Pressure // rail gauge pressure at zero boost
}

// Any tells whether there is a target at all.
func (t Target) Any() bool {
	return t.Boost != nil || given(t.RPM) || given(t.Power) || given(t.Pressure) || t.Fuel.Name != ""
}

// A HeadroomResult is what the injectors have left.
type HeadroomResult struct {
	Now    Duties  `json:"now"`
	Target *Duties `json:"target,omitempty"`
	Limit  float64 `json:"limit_duty_pct"`

	// At the limit, each with the others as now; null where nothing is left even
	// at the bottom. See Warnings where a ceiling of ours was met first.
	MaxBoost        *float64 `json:"max_boost_kpa"`
	MaxRPM          *float64 `json:"max_rpm"`
	MaxPower        *float64 `json:"max_power_kw"`          // at the crank, at the rail pressure of now
	PowerAtMaxBoost *float64 `json:"power_at_max_boost_kw"` // at the crank

	Injector  string         `json:"injector"` // the leanest, which decides
	Fuel      string         `json:"fuel"`
	Voltage   float64        `json:"voltage_v"`
	Grid      []DutyCell     `json:"grid"`
	Injectors []InjectorDuty `json:"injectors"`
	Remedies  []Remedy       `json:"remedies"`
	Idle      *Idle          `json:"idle,omitempty"`
	Defaults  []Default      `json:"defaults"`
	Warnings  []string       `json:"warnings"`

	title   string
	rpm     float64
	boost   unit.Pressure
	voltage unit.Voltage
	step    string // where the map of duty steps, and why
	hopeful []string
	notes   []diag.Note
}

// Duties is the load on the leanest injector in one condition.
type Duties struct {
	RPM            float64 `json:"rpm"`
	Boost          float64 `json:"boost_kpa"`
	Power          float64 `json:"power_kw"` // at the crank
	Fuel           string  `json:"fuel"`
	FuelMass       float64 `json:"engine_fuel_flow_g_min"`
	Duty           float64 `json:"duty_pct"`
	LowDuty        float64 `json:"low_duty_pct"`  // at the low end of the fuel and the high end of the flow
	HighDuty       float64 `json:"high_duty_pct"` // the other way round
	Pulse          float64 `json:"pulse_ms"`
	Window         float64 `json:"window_ms"`
	DeadTime       float64 `json:"dead_time_ms"`
	AcrossInjector float64 `json:"pressure_across_injector_kpa"`
	Flow           float64 `json:"injector_flow_ml_min"` // there, in that fuel at 15 °C
}

// A DutyCell is one cell of the map of duty; null where nothing drives fuel.
type DutyCell struct {
	RPM   float64  `json:"rpm"`
	Boost float64  `json:"boost_kpa"`
	Duty  *float64 `json:"duty_pct"`
}

// An InjectorDuty is one injector of the set in the condition of now.
type InjectorDuty struct {
	Injector string  `json:"injector"`
	Flow     float64 `json:"injector_flow_ml_min"`
	DeadTime float64 `json:"dead_time_ms"`
	Duty     float64 `json:"duty_pct"`
}

// Within tells whether the target, or where there is none the present, stays
// within the duty limit.
func (r HeadroomResult) Within() bool {
	duty := r.Now.Duty
	if r.Target != nil {
		duty = r.Target.Duty
	}
	return duty <= r.Limit*(1+1e-9)
}

// Headroom finds how much of the window the injectors use now and at a target, and
// where they reach the duty limit. The leanest injector of the set decides: it
// needs the longest pulse for the same fuel. Errors are sentences.
func Headroom(in Inputs, injectors []Injector, target Target) (HeadroomResult, error) {
	if len(injectors) == 0 {
		return HeadroomResult{}, fmt.Errorf("headroom needs the injectors at hand: give their flow and dead time, or a bench file")
	}
	if !given(in.RPM) {
		return HeadroomResult{}, fmt.Errorf("rpm: the speed at full power is needed")
	}
	now, err := fill(in)
	if err != nil {
		return HeadroomResult{}, err
	}
	fallback(&now, &now.Voltage, 13.5, "voltage", "13.5 V", practice)
	now.noteDataSheet()
	l := load{injectors: injectors, voltage: now.Voltage}
	at, err := l.find(&now)
	if err != nil {
		return HeadroomResult{}, err
	}
	r := HeadroomResult{
		Limit: now.Duty.Pct(), Now: at.duties(&now), Fuel: now.Fuel.Name, Voltage: now.Voltage.V(),
		Injector: at.injector.Name(), title: in.Title, rpm: now.RPM, boost: now.Boost, voltage: now.Voltage, step: now.stepAtBoost(),
	}
	r.listInjectors(l, &now)
	r.withoutDeadTime(at)
	aim := now
	if target.Any() {
		if aim, err = r.aim(l, &now, target); err != nil {
			return HeadroomResult{}, err
		}
	}
	r.ceilings(l, &now)
	r.grid(l, &now, &aim)
	r.remedies(l, &aim)
	r.idle(l, &now)
	r.caveats(&now, &aim, at.injector)
	r.collect(&now, &aim)
	return r, nil
}

// collect gathers what was assumed and what must be said, of now and then of what
// the target adds to it.
func (r *HeadroomResult) collect(now, aim *filled) {
	r.Defaults = slices.Concat(now.defaults, now.airDefaults)
	for _, d := range slices.Concat(aim.defaults, aim.airDefaults) {
		if r.Target != nil && !slices.Contains(r.Defaults, d) {
			r.Defaults = append(r.Defaults, Default{"target " + d.Name, d.Value, d.Source})
		}
	}
	notes := slices.Clone(now.notes)
	for _, n := range aim.notes {
		if !slices.Contains(notes, n) {
			notes = append(notes, n)
		}
	}
	r.notes = append(notes, r.notes...)
	r.Warnings = append(sentences(r.notes), r.hopeful...)
}

// withoutDeadTime says how much more the duty is than the answer, where no dead time
// was given.
func (r *HeadroomResult) withoutDeadTime(at operating) {
	if d, ok := at.injector.(DataSheet); ok && !given(d.Dead) {
		r.hopeful = []string{fmt.Sprintf("That is too hopeful: no dead time was given, so the injector is counted as opening at once. With %.4g ms the duty is %.1f %%; give --dead-time.",
			usualDeadTime.Ms(), Duty(at.pulse+usualDeadTime, at.window).Pct())}
	}
}

// aim loads the injectors with the target.
func (r *HeadroomResult) aim(l load, now *filled, target Target) (filled, error) {
	aim, err := now.towards(target)
	if err != nil {
		return aim, fmt.Errorf("target: %w", err)
	}
	at, err := l.find(&aim)
	if err != nil {
		return aim, fmt.Errorf("target: %w", err)
	}
	d := at.duties(&aim)
	r.Target = &d
	return aim, nil
}

// towards is the engine with the target's changes. Power that is not a target
// follows the air; a consumption given for the present fuel is scaled to another.
func (f *filled) towards(t Target) (filled, error) {
	in := f.asked
	if t.Boost != nil {
		in.Boost = *t.Boost
	}
	if given(t.RPM) {
		in.RPM = t.RPM
	}
	if given(t.Pressure) {
		in.Pressure = t.Pressure
	}
	if t.Fuel.Name != "" {
		in = switchFuel(in, t.Fuel, f.Fuel)
	}
	follow := !given(t.Power) && given(in.Power)
	if given(t.Power) {
		in.Power = t.Power
	}
	g, err := fill(in)
	if err == nil && follow {
		g.crank = unit.Power(float64(f.crank) * g.breath() / f.breath())
		g.Power = unit.Power(float64(f.Power) * g.breath() / f.breath())
		g.asked.Power = g.Power
	}
	return g, err
}

func switchFuel(in Inputs, to, from fluid.Fluid) Inputs {
	if in.BSFCFuel.Name == "" && (given(in.BSFC) || given(in.BSFCLow)) {
		in.BSFCFuel = from
	}
	if given(in.AFR) {
		in.Lambda, in.AFR = in.AFR/from.Stoich, 0
	}
	if to.Name != from.Name {
		in.FuelDensity = 0
	}
	in.Fuel = to
	return in
}

// listInjectors shows each injector of the set in the condition of now.
func (r *HeadroomResult) listInjectors(l load, now *filled) {
	for _, i := range l.injectors {
		one := load{injectors: []Injector{i}, voltage: l.voltage}
		at, err := one.find(now)
		if err != nil {
			continue // find over the whole set has succeeded, so this can't be
		}
		r.Injectors = append(r.Injectors, InjectorDuty{
			Injector: i.Name(), Flow: fluid.VolumeFlow(at.flow, now.density).MlMin(),
			DeadTime: at.dead.Ms(), Duty: at.duty().Pct(),
		})
	}
}

// caveats says what the figures of the injector can't answer.
func (r *HeadroomResult) caveats(now, aim *filled, i Injector) {
	for _, d := range []*Duties{&r.Now, r.Target} {
		if d != nil && d.Duty > 100 {
			r.notes = append(r.notes, diag.Warn("beyond_window",
				"At %.0f rpm and %.4g kPa boost the pulse of %.4g ms is longer than the window of %.4g ms (%.0f %% duty): the engine can't be fuelled there with these injectors.", d.RPM, d.Boost, d.Pulse, d.Window, d.Duty))
		}
	}
	for _, f := range []*filled{now, aim} {
		if s := i.Beyond(f.dp, r.voltage); s != "" {
			r.notes = append(r.notes, diag.Warn("beyond_readings", "%s", s))
		}
		if same(float64(now.dp), float64(aim.dp)) {
			break
		}
	}
	liquid, _ := i.Fluid()
	for _, fuel := range []fluid.Fluid{now.Fuel, aim.Fuel} {
		if s := fluid.ViscosityCaveat(liquid, fuel); s != "" {
			r.notes = append(r.notes, diag.Warn("viscosity", "Flow measured in %s: %s.", liquid.Name, s))
			break
		}
	}
	if len(now.sets) > 1 {
		r.notes = append(r.notes, diag.Warn("secondary_not_judged",
			"The primary injectors are judged, with %.0f %% of the fuel; the secondary ones give the rest and are not judged here.", 100*now.sets[0].share))
	}
	if d, ok := i.(DataSheet); ok && given(d.Dead) {
		r.notes = append(r.notes, diag.Warn("one_dead_time",
			"One dead time of %.3g ms is used at every voltage and pressure; it grows as voltage falls and, as a rule, with pressure. A bench file with both shows how much.", d.Dead.Ms()))
	}
	if aim.Regulator == Fixed && given(aim.Power) && nearZero(float64(aim.Boost-now.Boost)) && aim.crank > now.crank*1.001 {
		r.notes = append(r.notes, diag.Warn("boost_of_target",
			"The boost that the target power takes is not given: with a fixed regulator it would take pressure from the injectors. Give a target boost."))
	}
}

package engine

import (
	"fmt"

	"injtab/fit/diag"
	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// A SizeResult is the injector that an engine needs and the pump that feeds it.
// Volumes are of the fuel at 15 °C; low and high are the ends of the range of
// consumption, or of volumetric efficiency where the answer rests on the air.
type SizeResult struct {
	InjectorFlow     float64 `json:"injector_flow_ml_min"` // at AtPressure
	LowInjectorFlow  float64 `json:"low_injector_flow_ml_min"`
	HighInjectorFlow float64 `json:"high_injector_flow_ml_min"`
	AtPressure       float64 `json:"at_pressure_kpa"`
	InjectorMassFlow float64 `json:"injector_flow_g_min"`
	AcrossInjector   float64 `json:"pressure_across_injector_kpa"` // at full load

	EngineFuelMass   float64 `json:"engine_fuel_flow_g_min"`
	EngineFuelVolume float64 `json:"engine_fuel_flow_l_h"`
	PumpFlow         float64 `json:"pump_flow_l_h"`
	PumpPressure     float64 `json:"pump_pressure_kpa"` // gauge, the highest in the rail
	Pump             string  `json:"pump_verdict,omitempty"`

	DutyLimit float64 `json:"duty_limit_pct"`
	Window    float64 `json:"window_ms,omitempty"` // with a speed only
	Pulse     float64 `json:"pulse_ms,omitempty"`
	DeadTime  float64 `json:"dead_time_ms,omitempty"`
	PerPulse  float64 `json:"fuel_per_pulse_mg,omitempty"`

	Fuel    string  `json:"fuel"`
	Density float64 `json:"fuel_density_kg_m3"`
	Lambda  float64 `json:"lambda"`

	Paths        []Path        `json:"paths"` // the first decides
	Disagreement *Disagreement `json:"disagreement,omitempty"`
	Sets         []SetSize     `json:"sets"`
	Idle         *Idle         `json:"idle,omitempty"`
	ByDuty       []SizeCell    `json:"by_bsfc_and_duty,omitempty"`
	ByBoost      []BoostCell   `json:"by_boost_and_rpm,omitempty"`
	Defaults     []Default     `json:"defaults"`
	Warnings     []string      `json:"warnings"`

	title   string
	hopeful []string // what the answer leaves out
	step    string   // where the sizes over boost step, and why
	notes   []diag.Note
}

// A Path is one way to the fuel: from power and consumption, or from air.
type Path struct {
	Name         string  `json:"path"` // power or air
	FuelMass     float64 `json:"fuel_flow_g_min"`
	LowFuelMass  float64 `json:"low_fuel_flow_g_min"`
	HighFuelMass float64 `json:"high_fuel_flow_g_min"`
	InjectorFlow float64 `json:"injector_flow_ml_min"`
	Power        float64 `json:"power_kw"` // at the crank; from air: with the consumption in use
	Air          float64 `json:"air_g_s"`  // from power: with the mixture in use
	BSFC         float64 `json:"bsfc_g_kwh"`
	VE           float64 `json:"ve_pct,omitempty"` // from power: what it takes, if displacement is known
}

// A SetSize is the size of one set of injectors.
type SetSize struct {
	Name           string  `json:"name"`
	Injectors      int     `json:"injectors"`
	PulsesPerCycle int     `json:"pulses_per_cycle"`
	Share          float64 `json:"share_pct"`
	Flow           float64 `json:"injector_flow_ml_min"`
	LowFlow        float64 `json:"low_injector_flow_ml_min"`
	HighFlow       float64 `json:"high_injector_flow_ml_min"`
}

// Size finds the injector that the engine needs: the static flow, quoted at the
// rated pressure in the engine's fuel at 15 °C, with which the pulse at full load
// is the duty limit's share of the window. Errors are sentences; one that lists
// inputs names each by its key.
func Size(in Inputs) (SizeResult, error) {
	f, err := fill(in)
	if err != nil {
		return SizeResult{}, err
	}
	f.noteDeadTime()
	fuel := f.fuel()
	r := SizeResult{
		AtPressure: f.RatedPressure.KPa(), AcrossInjector: f.dp.KPa(), DutyLimit: f.Duty.Pct(),
		Fuel: f.Fuel.Name, Density: f.density.KgM3(), Lambda: f.Lambda,
		EngineFuelMass:   fuel.mid.GMin(),
		EngineFuelVolume: fluid.VolumeFlow(fuel.mid, f.density).LH(),
		title:            in.Title, step: f.stepAtBoost(),
	}
	if err := r.sizeSets(&f, fuel); err != nil {
		return SizeResult{}, err
	}
	if err := r.pump(&f, fuel.mid); err != nil {
		return SizeResult{}, err
	}
	r.comparePaths(&f)
	r.window(&f, fuel.mid)
	r.idle(&f)
	r.grids(&f)
	f.noteGaps()
	r.withoutDeadTime(&f, fuel.mid)
	r.Defaults = f.defaults
	r.notes = append(f.notes, r.notes...)
	r.Warnings = append(sentences(r.notes), r.hopeful...)
	return r, nil
}

// usualDeadTime stands for one that was not given, where its worth is told: common
// practice, no source.
var usualDeadTime = unit.Ms(1)

// withoutDeadTime says how much larger the injector must be than the answer, where
// no dead time was given.
func (r *SizeResult) withoutDeadTime(f *filled, fuel unit.MassFlow) {
	if given(f.DeadTime) || !given(f.RPM) {
		return
	}
	g := *f
	g.DeadTime = usualDeadTime
	if flow, err := g.labelled(f.sets[0], fuel); err == nil {
		r.hopeful = []string{fmt.Sprintf("That is too hopeful: no dead time was given, so the injector is counted as opening at once. With %.4g ms it must flow %.0f ml/min; give --dead-time.", usualDeadTime.Ms(), flow)}
	}
}

// static is the static mass flow that an injector of a set needs at full load for
// the whole engine's fuel. Without a speed dead time can't be counted, and the flow
// is fuel / (n · duty); with one, the two agree where dead time is zero.
func (f *filled) static(s set, fuel unit.MassFlow) (unit.MassFlow, error) {
	part := unit.MassFlow(float64(fuel) * s.share)
	if !given(f.RPM) {
		return unit.MassFlow(float64(part) / (float64(s.injectors) * float64(f.Duty))), nil
	}
	window := f.window(s)
	pulse := unit.Time(float64(window) * float64(f.Duty))
	return StaticFlow(FuelPerPulse(part, window, s.injectors), pulse, f.DeadTime)
}

// quoted is a static flow as an injector is labelled: a volume of the fuel at
// 15 °C, at rated pressure.
func (f *filled) quoted(static unit.MassFlow) unit.VolumeFlow {
	return FlowAt(fluid.VolumeFlow(static, f.density), f.dp, f.RatedPressure, f.Exponent)
}

// labelled is the flow on the label of the injector that a set needs, in ml/min.
func (f *filled) labelled(s set, fuel unit.MassFlow) (float64, error) {
	static, err := f.static(s, fuel)
	return f.quoted(static).MlMin(), err
}

func (r *SizeResult) sizeSets(f *filled, fuel fuelFlow) error {
	for _, s := range f.sets {
		mid, err := f.labelled(s, fuel.mid)
		if err != nil {
			return err
		}
		// Only the fuel differs, so an error would have shown above.
		low, _ := f.labelled(s, fuel.low)
		high, _ := f.labelled(s, fuel.high)
		r.Sets = append(r.Sets, SetSize{
			Name: s.name, Injectors: s.injectors, PulsesPerCycle: s.pulses, Share: 100 * s.share,
			Flow: mid, LowFlow: low, HighFlow: high,
		})
	}
	first := r.Sets[0]
	r.InjectorFlow, r.LowInjectorFlow, r.HighInjectorFlow = first.Flow, first.LowFlow, first.HighFlow
	r.InjectorMassFlow = fluid.MassFlow(unit.MlMin(first.Flow), f.density).GMin()
	return nil
}

// pump sizes the pump at the highest pressure that the rail sees.
func (r *SizeResult) pump(f *filled, fuel unit.MassFlow) error {
	optional(f, &f.Margin, 0.20, "margin", practice)
	need := fluid.VolumeFlow(PumpFlow(fuel, *f.Margin), f.density)
	at := max(f.rail, f.Pressure)
	r.PumpFlow, r.PumpPressure = need.LH(), at.KPa()
	if !given(f.Inputs.PumpFlow) {
		return nil
	}
	verdict, _, err := PumpFits(f.Inputs.PumpFlow, f.Inputs.PumpPressure, need, at)
	r.Pump = verdict
	return err
}

// window shows the pulse at full load, where a speed was given.
func (r *SizeResult) window(f *filled, fuel unit.MassFlow) {
	if !given(f.RPM) {
		return
	}
	s := f.sets[0]
	w := f.window(s)
	r.Window, r.DeadTime = w.Ms(), f.DeadTime.Ms()
	r.Pulse = r.Window * float64(f.Duty)
	r.PerPulse = FuelPerPulse(unit.MassFlow(float64(fuel)*s.share), w, s.injectors).Mg()
}

// noteGaps says what the answer leaves out.
func (f *filled) noteGaps() {
	if given(f.DeadTime) && !given(f.RPM) {
		f.notes = append(f.notes, diag.Warn("dead_time_unused",
			"Without rpm the dead time can't be counted, and the size comes out too small by its share of the pulse: give rpm."))
	}
	if given(f.Displacement) && !given(f.RPM) {
		f.notes = append(f.notes, diag.Warn("displacement_unused",
			"Without rpm the displacement can't be used: give rpm to compare power with the air that the engine breathes."))
	}
	if !given(f.asked.Exponent) && (f.dp < 0.7*f.RatedPressure || f.dp > 1.4*f.RatedPressure) {
		f.notes = append(f.notes, diag.Warn("exponent_far",
			"The injector works at %.4g kPa but is quoted at %.4g kPa: over so wide a step a measured exponent is worth having.", f.dp.KPa(), f.RatedPressure.KPa()))
	}
}

func sentences(notes []diag.Note) []string {
	out := make([]string, len(notes))
	for i, n := range notes {
		out[i] = fmt.Sprint(n.Message)
	}
	return out
}

package engine

import (
	"fmt"
	"strings"
	"testing"

	"injtab/fit/fluid"
	"injtab/fit/unit"
)

func boostOf(kpa float64) *unit.Pressure { return new(unit.KPa(kpa)) }

// What size answers uses exactly the duty limit.
func TestSizeThenHeadroom(t *testing.T) {
	for name, in := range map[string]Inputs{
		"small": smallEngine(), "pump fuel": pumpFuelEngine(t), "fixed": fixedEngine(t),
	} {
		in.Flow = unit.MlMin(size(t, in).InjectorFlow)
		r := headroom(t, in, Target{})
		near(t, name+": duty", r.Now.Duty, r.Limit, exact)
		near(t, name+": power", *r.MaxPower, r.Now.Power, exact)
		near(t, name+": rpm", *r.MaxRPM, in.RPM, exact)
		near(t, name+": boost", 100+*r.MaxBoost, 100+in.Boost.KPa(), exact)
		if !r.Within() {
			t.Errorf("%s: the limit itself is called beyond it", name)
		}
	}
}

func TestHeadroomTarget(t *testing.T) {
	in := pumpFuelEngine(t)
	in.Flow = unit.MlMin(700)
	in.Power = kW(240)
	// A target that changes nothing is now.
	same := headroom(t, in, Target{RPM: in.RPM, Boost: boostOf(120)})
	near(t, "no change", same.Target.Duty, same.Now.Duty, exact)
	// Twice the absolute pressure, charge as warm: twice the fuel and power.
	double := headroom(t, in, Target{Boost: boostOf(120 + 221.325)})
	near(t, "power", double.Target.Power, 480, 1e-9)
	near(t, "pulse", double.Target.Pulse-1, 2*(double.Now.Pulse-1), 1e-9)
	if double.Within() {
		t.Error("twice the fuel stays within the limit")
	}
	// Speed alone: the same pulse in a shorter window.
	fast := headroom(t, in, Target{RPM: 7500})
	near(t, "pulse at speed", fast.Target.Pulse, fast.Now.Pulse, exact)
	near(t, "window at speed", fast.Target.Window, 16, exact)
	// Rail pressure: 1 ms of dead time apart, √(300/400) of the pulse.
	rail := headroom(t, in, Target{Pressure: unit.KPa(400)})
	near(t, "pulse at 400 kPa", rail.Target.Pulse-1, (rail.Now.Pulse-1)*0.866025, 1e-6)
	power := headroom(t, in, Target{Power: kW(300)})
	near(t, "open time at 300 kW", power.Target.Pulse-1, (power.Now.Pulse-1)*300/240, exact)
}

// From gasoline to E85 at the same power: fuel by the ratio of air-fuel ratios,
// through the same orifice √(ρ) more mass flows.
func TestHeadroomTargetFuel(t *testing.T) {
	in := smallEngine()
	in.Flow, in.FlowFluid = unit.MlMin(250), gasoline
	e85 := fuelNamed(t, "E85")
	r := headroom(t, in, Target{Fuel: e85})
	near(t, "fuel", r.Target.FuelMass, r.Now.FuelMass*14.7/e85.Stoich, exact)
	factor := 14.7 / e85.Stoich / fluid.MassFactor(745, e85.At(referenceTemp))
	near(t, "open time", r.Target.Pulse-0.8, (r.Now.Pulse-0.8)*factor, exact)
}

// Flow measured as a mass in heptane: 52 lb/h = 393.113 g/min at 683.82 kg/m3 at
// 20 °C, converted to the engine's fuel by √ρ.
func TestDataSheetInBenchFluid(t *testing.T) {
	in := smallEngine()
	in.FlowMass, in.FlowFluid = unit.MassFlows.In(52, "lb/h"), fuelNamed(t, "n-heptane")
	r := headroom(t, in, Target{})
	near(t, "flow in gasoline", r.Now.Flow*0.745, 393.113*fluid.MassFactor(683.82, 745), 1e-5)
	in.FlowFluid = fuelNamed(t, "calibration oil")
	if r := headroom(t, in, Target{}); !hasNote(r.Notes(), "viscosity") {
		t.Error("a flow in calibration oil is converted without a word")
	}
}

// fake is an injector with figures of its own at each pressure and voltage.
type fake struct {
	DataSheet
	dead func(dp unit.Pressure, v unit.Voltage) (unit.Time, error)
}

func (f fake) DeadTime(dp unit.Pressure, v unit.Voltage) (unit.Time, error) { return f.dead(dp, v) }

func TestLeanestInjectorDecides(t *testing.T) {
	in := smallEngine()
	in.Flow = unit.MlMin(250)
	var set []Injector
	for i, flow := range []float64{251, 244, 250, 249} {
		sheet, err := in.DataSheet()
		if err != nil {
			t.Fatal(err)
		}
		sheet.Label, sheet.Flow, sheet.CI95 = fmt.Sprint(i+1), unit.MlMin(flow), unit.MlMin(0.01*flow)
		set = append(set, sheet)
	}
	// The third flows more than the second but opens late.
	slow := fake{set[2].(DataSheet), func(unit.Pressure, unit.Voltage) (unit.Time, error) { return unit.Ms(1.6), nil }}
	for want, injectors := range map[string][]Injector{"2": set, "3": {set[0], set[1], slow, set[3]}} {
		r, err := Headroom(in, injectors, Target{})
		if err != nil {
			t.Fatal(err)
		}
		if r.Injector != want || len(r.Injectors) != 4 {
			t.Errorf("injector %s decides of %d, want %s", r.Injector, len(r.Injectors), want)
		}
		for _, i := range r.Injectors {
			if i.Duty > r.Now.Duty*(1+exact) {
				t.Errorf("injector %s has %g %% duty, more than the %g %% of the one that decides", i.Injector, i.Duty, r.Now.Duty)
			}
		}
		// 1 % of flow and 10 % of fuel widen the range on both sides.
		open := r.Now.Pulse - r.Now.DeadTime
		near(t, "low", r.Now.LowDuty/100*r.Now.Window-r.Now.DeadTime, open*0.9/1.01, exact)
		near(t, "high", r.Now.HighDuty/100*r.Now.Window-r.Now.DeadTime, open*1.1/0.99, exact)
	}
}

func TestVoltageReachesTheInjector(t *testing.T) {
	in := smallEngine()
	in.Flow, in.Voltage = unit.MlMin(250), 11.5
	sheet, err := in.DataSheet()
	if err != nil {
		t.Fatal(err)
	}
	byVoltage := fake{sheet, func(dp unit.Pressure, v unit.Voltage) (unit.Time, error) {
		if v < 8 {
			return 0, fmt.Errorf("does not open at %g V", v.V())
		}
		return unit.Ms(20 / v.V()), nil
	}}
	r, err := Headroom(in, []Injector{byVoltage}, Target{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "dead time", r.Now.DeadTime, 20/11.5, exact)
	in.Voltage = 7
	if _, err := Headroom(in, []Injector{byVoltage}, Target{}); err == nil || !strings.Contains(err.Error(), "does not open at 7 V") {
		t.Errorf("an injector that does not open: %v", err)
	}
}

// At its ceiling boost, speed or power the duty is the limit.
func TestCeilingsMeetTheLimit(t *testing.T) {
	for name, in := range map[string]Inputs{"small": smallEngine(), "pump fuel": pumpFuelEngine(t), "fixed": fixedEngine(t)} {
		in.Flow = unit.MlMin(1.2 * size(t, in).InjectorFlow)
		in.Power = kW(headroom(t, in, Target{}).Now.Power) // as a given power
		r := headroom(t, in, Target{})
		for what, target := range map[string]Target{
			"boost": {Boost: boostOf(*r.MaxBoost)}, "rpm": {RPM: *r.MaxRPM}, "power": {Power: kW(*r.MaxPower)},
		} {
			near(t, name+", "+what, headroom(t, in, target).Target.Duty, r.Limit, 1e-6)
		}
	}
}

func TestNothingLeft(t *testing.T) {
	in := smallEngine()
	in.Flow = unit.MlMin(50)
	r := headroom(t, in, Target{})
	if r.MaxBoost != nil || !hasNote(r.Notes(), "no_boost_left") || !hasNote(r.Notes(), "beyond_window") {
		t.Errorf("max boost %v, %v", r.MaxBoost, r.Warnings)
	}
	in.DeadTime = unit.Ms(4.9)
	in.RPM = 24000
	r = headroom(t, in, Target{})
	if r.MaxPower != nil {
		t.Errorf("%g kW where dead time takes the whole pulse", *r.MaxPower)
	}
}

func TestGridCellsWithoutFlow(t *testing.T) {
	in := fixedEngine(t)
	in.Flow, in.Pressure = unit.MlMin(2000), unit.KPa(200)
	var empty int
	for _, c := range headroom(t, in, Target{}).Grid {
		if c.Boost >= 200 != (c.Duty == nil) {
			t.Errorf("%g kPa of boost against 200 kPa: duty %v", c.Boost, c.Duty)
		}
		if c.Duty == nil {
			empty++
		}
	}
	if empty == 0 {
		t.Error("no cell lies beyond the rail pressure")
	}
}

func TestRemedies(t *testing.T) {
	in := fixedEngine(t)
	in.Flow = unit.MlMin(1000)
	r := headroom(t, in, Target{})
	if r.Within() {
		t.Fatal("the injectors are not over the limit")
	}
	asIs := *r.Remedies[0].Duty
	near(t, "as it is", asIs, r.Now.Duty, exact)
	var atLimit int
	for _, m := range r.Remedies[1:] {
		if *m.Duty >= asIs {
			t.Errorf("%s: duty %g is no better than %g", m.Name, *m.Duty, asIs)
		}
		if strings.HasPrefix(m.Name, "stop at") || strings.HasPrefix(m.Name, "injectors of") {
			near(t, m.Name, *m.Duty, r.Limit, 1e-6)
			atLimit++
		}
	}
	if atLimit != 3 {
		t.Errorf("%d remedies end at the limit, want larger injectors, less speed, less boost", atLimit)
	}
}

func TestHeadroomJSON(t *testing.T) {
	in := smallEngine()
	in.Flow = unit.MlMin(200)
	keys := jsonKeys(t, headroom(t, in, Target{RPM: 7000}))
	for _, want := range []string{"now", "target", "limit_duty_pct", "max_boost_kpa", "max_rpm", "max_power_kw", "grid"} {
		if _, ok := keys[want]; !ok {
			t.Errorf("key %s is missing", want)
		}
	}
	for _, want := range []string{"duty_pct", "pulse_ms", "window_ms"} {
		if _, ok := keys["now"].(map[string]any)[want]; !ok {
			t.Errorf("key now.%s is missing", want)
		}
	}
}

func TestHeadroomNeedsItsInputs(t *testing.T) {
	in := smallEngine()
	if _, err := in.DataSheet(); err == nil {
		t.Error("a data sheet without a flow passes")
	}
	if _, err := Headroom(in, nil, Target{}); err == nil {
		t.Error("headroom without injectors passes")
	}
	in.RPM = 0
	if _, err := Headroom(in, []Injector{DataSheet{Flow: 1}}, Target{}); err == nil || !strings.Contains(err.Error(), "rpm") {
		t.Errorf("headroom without a speed: %v", err)
	}
}

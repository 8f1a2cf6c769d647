package engine

import (
	"encoding/json"
	"math"
	"reflect"
	"strings"
	"testing"

	"injtab/fit/unit"
)

// 200 hp, 0.50 lb/(hp·h), four injectors, 80 %; computed at 0.720 and 0.745 kg/l.
func TestSizePlainFormula(t *testing.T) {
	for rho, ml := range map[float64]float64{720: 328.119, 745: 317.109} {
		in := gasolineOf(rho)
		in.Cylinders, in.Power, in.BSFC, in.Duty = 4, hp(200), perHph(0.5), 0.8
		r := size(t, in)
		near(t, "g/min", r.InjectorMassFlow, 236.246, 1e-6)
		near(t, "ml/min", r.InjectorFlow, ml, 2e-6)
		// A speed alone changes nothing while dead time is zero.
		in.RPM = 6500
		near(t, "with a speed", size(t, in).InjectorFlow, ml, 2e-6)
		in.DeadTime = unit.Ms(0.9)
		near(t, "with dead time, g/min", size(t, in).InjectorMassFlow, 251.577, 5e-6)
	}
}

// Computed: 300 kW, 340 g/kWh, six injectors, 85 %: 333.33 g/min, 447.43 ml/min at
// 745 kg/m3; 150 kW, 300, four, 80 %: 234.375 g/min, 314.60 ml/min.
func TestSizeVectors(t *testing.T) {
	in := gasolineOf(745)
	in.Cylinders, in.Power, in.BSFC, in.Duty = 6, kW(300), perKWh(340), 0.85
	near(t, "six", size(t, in).InjectorFlow, 447.43, 1e-5)
	near(t, "six, lb/h", unit.MassFlows.As(unit.MassFlow(size(t, in).InjectorMassFlow/60e3), "lb/h"), 44.092, 2e-5)
	in.Cylinders, in.Power, in.BSFC, in.Duty = 4, kW(150), perKWh(300), 0.80
	near(t, "four", size(t, in).InjectorFlow, 314.60, 1e-5)
}

func TestSizeDefaults(t *testing.T) {
	r := size(t, Inputs{Cylinders: 4, Power: kW(100)})
	near(t, "duty", r.DutyLimit, 85, exact)
	near(t, "pump margin", r.PumpFlow, 1.2*r.EngineFuelVolume, exact)
	near(t, "rated", r.AtPressure, 300, exact)
	near(t, "consumption", r.Paths[0].BSFC, 304.139, 1e-5)
	near(t, "range", r.HighInjectorFlow/r.LowInjectorFlow, 0.55/0.45, exact)
	named := map[string]bool{}
	for _, d := range r.Defaults {
		if d.Value == "" || d.Source == "" || named[d.Name] {
			t.Errorf("default %+v is incomplete or listed twice", d)
		}
		named[d.Name] = true
	}
	for _, want := range []string{"fuel", "lambda", "bsfc", "pressure", "rated_pressure", "regulator", "duty", "margin", "dead_time", "injectors", "flow_exponent"} {
		if !named[want] {
			t.Errorf("default %s is used but not listed", want)
		}
	}
	for name := range named {
		if _, ok := FieldOf(name); !ok {
			t.Errorf("default %s is no input", name)
		}
	}
	boosted := size(t, Inputs{Cylinders: 4, Power: kW(100), Boost: unit.KPa(80)})
	near(t, "boosted consumption", boosted.Paths[0].BSFC, 364.966, 1e-5)
}

func TestDefaultConsumptionFollowsFuel(t *testing.T) {
	base := size(t, Inputs{Cylinders: 4, Power: kW(100)}).EngineFuelMass
	r := size(t, Inputs{Cylinders: 4, Power: kW(100), Fuel: fuelNamed(t, "E85")})
	near(t, "E85", r.EngineFuelMass, base*1.49793, 1e-5)
	if !hasNote(r.Notes(), "consumption_scaled") {
		t.Error("the scaling is not mentioned")
	}
	// A figure given for E85 itself is used as it is.
	own := size(t, Inputs{Cylinders: 4, Power: kW(100), Fuel: fuelNamed(t, "E85"), BSFC: perKWh(480)})
	near(t, "own figure", own.EngineFuelMass, 480*100.0/60, exact)
	// One that only gasoline can have draws a remark.
	low := size(t, Inputs{Cylinders: 4, Power: kW(100), Fuel: fuelNamed(t, "E85"), BSFC: perKWh(300)})
	if !hasNote(low.Notes(), "consumption_low") {
		t.Errorf("300 g/kWh of E85 passes: %v", low.Warnings)
	}
}

func TestPowerAtWheels(t *testing.T) {
	in := Inputs{Cylinders: 4, Power: kW(85), PowerAt: "wheels"}
	near(t, "15 % default", size(t, in).Paths[0].Power, 100, exact)
	in.DrivelineLoss = part(0)
	near(t, "none", size(t, in).Paths[0].Power, 85, exact)
}

// The same fuel by other counts: twice the injectors are half the size; once per
// turn the fuel of a pulse halves, and dead time counts twice.
func TestArrangements(t *testing.T) {
	in := smallEngine()
	one := size(t, in)
	in.Injectors = 6
	near(t, "two per cylinder", size(t, in).InjectorFlow, one.InjectorFlow/2, exact)
	in.Injectors, in.PulsesPerCycle = 3, 2
	turn := size(t, in)
	near(t, "once per turn", turn.InjectorFlow, one.InjectorFlow*15.2/(16-2*0.8), exact)
	near(t, "window", turn.Window, 10, exact)
	// One injector for all three cylinders pulses three times a cycle.
	in.Injectors, in.PulsesPerCycle = 1, 0
	shared := size(t, in)
	near(t, "shared", shared.InjectorFlow, 3*one.InjectorFlow*15.2/(16-3*0.8), exact)
	if shared.Sets[0].PulsesPerCycle != 3 {
		t.Errorf("a shared injector pulses %d times", shared.Sets[0].PulsesPerCycle)
	}
	in.Injectors, in.SecondaryInjectors, in.SecondaryShare = 3, 3, 0.4
	staged := size(t, in)
	near(t, "primary", staged.InjectorFlow, 0.6*one.InjectorFlow, exact)
	near(t, "secondary", staged.Sets[1].Flow, 0.4*one.InjectorFlow, exact)
	for _, n := range []int{2, 4} {
		in.Injectors = n
		if _, err := Size(in); err == nil || !strings.Contains(err.Error(), "share evenly") {
			t.Errorf("%d injectors for 3 cylinders: %v", n, err)
		}
	}
}

// A hot day in the mountains: 2000 m have 79495.2 Pa and 275.15 K (ISO 2533 table).
func TestAltitude(t *testing.T) {
	in := smallEngine()
	in.Power, in.ChargeTemp = 0, 0
	sea := size(t, in)
	in.Altitude = 2000
	high := size(t, in)
	near(t, "air", high.Paths[0].Air/sea.Paths[0].Air, 79495.2/101325*288.15/275.15, 1e-5)
}

// 20 °C, pressure ratio 2, compressor 70 %: 111.72 °C; a cooler of 80 % leaves 38.34 °C.
func TestChargeTemperature(t *testing.T) {
	in := smallEngine()
	in.Power, in.ChargeTemp, in.AmbientTemp = 0, 0, unit.Celsius(20)
	in.Boost, in.Compressor = unit.Pressure(101325), 0.70
	for eps, celsius := range map[float64]float64{0: 111.72, 0.8: 38.344} {
		in.Intercooler = part(eps)
		f, err := fill(in)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "charge", f.ChargeTemp.C(), celsius, 1e-4)
	}
	in.IntercoolerDrop = unit.KPa(10)
	f, _ := fill(in)
	if f.ChargeTemp.C() <= 38.344 {
		t.Error("a pressure drop does not make the compressor work harder")
	}
}

func TestIdle(t *testing.T) {
	in := smallEngine()
	in.IdleRPM, in.IdleMAP, in.IdleVE = 850, unit.KPa(30), 0.7
	r := size(t, in)
	// 30000/(287.053·313.15)·0.7·1 l·850/120 = 1.65479 g/s; ÷ 14.7 · 60 = 6.75424 g/min;
	// ÷ 3 ÷ 60 · 141.176 ms = 5.29744 mg; ÷ 2.01023 mg/ms + 0.8 = 3.43524 ms.
	near(t, "mg", r.Idle.FuelPerPulse, 5.29744, 1e-5)
	near(t, "pulse", r.Idle.Pulse, 3.43524, 1e-5)
	near(t, "turndown", r.Idle.TurndownNeeded, 30.5556/5.29744, 1e-5)
	near(t, "linear", r.Idle.TurndownLinear, 15.2/0.7, exact)
	if r.Idle.TooBig {
		t.Error("a small injector is called too big")
	}
	// An injector of exactly the largest flow idles at the shortest linear pulse.
	in.Flow = unit.MlMin(r.Idle.LargestFlow)
	h := headroom(t, in, Target{})
	near(t, "pulse at the largest flow", h.Idle.Pulse, 1.5, exact)
	in.Flow *= 1.01
	if h := headroom(t, in, Target{}); !h.Idle.TooBig || !hasNote(h.Notes(), "too_big_to_idle") {
		t.Error("an injector too big to idle passes")
	}
	// Given as fuel: 0.6 l/h of 745 kg/m3 is 7.45 g/min.
	in.IdleFuel = unit.VolumeFlows.In(0.6, "l/h")
	near(t, "from fuel", size(t, in).Idle.FuelPerPulse, 7.45/3/60*141.176, 1e-5)
	// A fixed regulator has the vacuum on top: 300 + (101.325 − 30).
	in.Regulator = Fixed
	near(t, "across at idle", size(t, in).Idle.AcrossInjector, 371.325, exact)
}

func TestDisagreement(t *testing.T) {
	in := smallEngine()
	in.Power = kW(110)
	r := size(t, in)
	if r.Disagreement == nil || !hasNote(r.Notes(), "paths_disagree") {
		t.Fatal("110 kW from one litre of air passes")
	}
	near(t, "ratio", r.Disagreement.AirOverPower, 251.321/550, 1e-5)
	// Each suspect alone, put right, settles it.
	for _, s := range r.Disagreement.Suspects {
		fixed, ok := in, true
		switch s.Input {
		case "power":
			fixed.Power = kW(s.WouldBe)
		case "bsfc":
			fixed.BSFC = perKWh(s.WouldBe)
		case "ve":
			fixed.VE = unit.Ratio(s.WouldBe / 100)
		case "lambda":
			fixed.Lambda = s.WouldBe
		case "boost":
			fixed.Boost = unit.KPa(s.WouldBe)
		case "charge_temp":
			fixed.ChargeTemp = unit.Celsius(s.WouldBe)
		case "displacement":
			fixed.Displacement = litres(s.WouldBe)
		case "rpm":
			fixed.RPM = s.WouldBe
		}
		f, err := complete(fixed)
		if err != nil {
			ok = false
		}
		if ok && s.Input != "rpm" {
			near(t, s.Input, f.fuelByAir().mid.GMin()/f.fuelByPower().mid.GMin(), 1, 1e-6)
		}
	}
}

// A boost of 220 kPa where 120 above the air was meant.
func TestAbsoluteBoostIsSuspected(t *testing.T) {
	in := pumpFuelEngine(t)
	in.Power, in.BSFC = kW(240), perKWh(347) // what the air at 120 kPa makes
	if r := size(t, in); r.Disagreement != nil {
		t.Fatalf("the right boost is suspected: %v", r.Warnings)
	}
	in.Boost = unit.KPa(221.3)
	r := size(t, in)
	if r.Disagreement == nil || !strings.Contains(strings.Join(r.Warnings, " "), "looks like an absolute pressure") {
		t.Errorf("an absolute boost passes: %v", r.Warnings)
	}
}

func TestPumpInSize(t *testing.T) {
	in := smallEngine()
	in.PumpFlow = unit.VolumeFlows.In(100, "l/h")
	if _, err := Size(in); err == nil || !strings.Contains(err.Error(), "free flow") {
		t.Errorf("a free flow is compared: %v", err)
	}
	in.PumpPressure = unit.KPa(300)
	if r := size(t, in); !strings.Contains(r.Pump, "enough") {
		t.Errorf("pump verdict %q", r.Pump)
	}
}

func TestGridsHoldTheAnswer(t *testing.T) {
	r := size(t, smallEngine())
	duty := find(r.ByDuty, func(c SizeCell) bool { return same(c.BSFC, 300) && same(c.Duty, 80) })
	boost := find(r.ByBoost, func(c BoostCell) bool { return same(c.RPM, 6000) && same(c.Boost, 0) })
	if duty.Flow == nil || boost.Flow == nil {
		t.Fatal("the answer is not among the cells")
	}
	near(t, "by duty", *duty.Flow, r.InjectorFlow, exact)
	near(t, "by boost", *boost.Flow, r.InjectorFlow, exact)
}

// Keys that other programs rely on.
func TestSizeJSON(t *testing.T) {
	keys := jsonKeys(t, size(t, smallEngine()))
	for _, want := range []string{"injector_flow_ml_min", "at_pressure_kpa", "engine_fuel_flow_g_min", "engine_fuel_flow_l_h",
		"pump_flow_l_h", "pump_pressure_kpa", "duty_limit_pct", "low_injector_flow_ml_min", "high_injector_flow_ml_min", "defaults"} {
		if _, ok := keys[want]; !ok {
			t.Errorf("key %s is missing", want)
		}
	}
}

// jsonKeys writes a result as JSON, which also refuses what is no finite number.
func jsonKeys(t *testing.T, result any) map[string]any {
	t.Helper()
	text, err := json.Marshal(result)
	if err != nil {
		t.Fatal(err)
	}
	var keys map[string]any
	if err := json.Unmarshal(text, &keys); err != nil {
		t.Fatal(err)
	}
	return keys
}

// finite walks a result and fails on a number that is none.
func finite(t testing.TB, what string, v reflect.Value) {
	t.Helper()
	switch v.Kind() {
	case reflect.Float64:
		if x := v.Float(); math.IsNaN(x) || math.IsInf(x, 0) {
			t.Errorf("%s is %g", what, x)
		}
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			finite(t, what, v.Elem())
		}
	case reflect.Slice:
		for i := range v.Len() {
			finite(t, what, v.Index(i))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			finite(t, what+"."+v.Type().Field(i).Name, v.Field(i))
		}
	}
}

package engine

import (
	"testing"

	"injtab/fit/unit"
)

// Three invented engines, worked by hand with a pocket calculator, beside the
// tool's answers.

// A small engine without boost: three cylinders, 1.0 l, 55 kW at 6000 rpm,
// 300 g/kWh, gasoline of 745 kg/m3, 300 kPa, 80 %, dead time 0.8 ms.
func smallEngine() Inputs {
	return Inputs{
		Cylinders: 3, Displacement: litres(1), RPM: 6000, Power: kW(55), BSFC: perKWh(300),
		VE: 0.90, Lambda: 0.88, ChargeTemp: unit.Celsius(20),
		Fuel: gasoline, FuelDensity: 745, Pressure: unit.KPa(300), RatedPressure: unit.KPa(300),
		Duty: 0.80, DeadTime: unit.Ms(0.8), Margin: part(0.20),
	}
}

func TestSmallEngineByHand(t *testing.T) {
	r := size(t, smallEngine())
	// 55 kW · 300 g/kWh = 16500 g/h ÷ 60 = 275 g/min.
	near(t, "fuel", r.EngineFuelMass, 275, exact)
	// 120000 / 6000 = 20 ms; 80 % of it is a pulse of 16 ms.
	near(t, "window", r.Window, 20, exact)
	near(t, "pulse", r.Pulse, 16, exact)
	// 275 g/min ÷ 3 ÷ 60 s · 0.020 s = 30.5556 mg.
	near(t, "per pulse", r.PerPulse, 30.5556, 1e-5)
	// 30.5556 mg ÷ (16 − 0.8) ms = 2.01023 mg/ms = 120.614 g/min ÷ 0.745 = 161.898 ml/min.
	near(t, "g/min", r.InjectorMassFlow, 120.614, 1e-5)
	near(t, "ml/min", r.InjectorFlow, 161.898, 1e-5)
	// The range of ±10 % of the consumption: 0.9 and 1.1 times that.
	near(t, "low", r.LowInjectorFlow, 145.708, 1e-5)
	near(t, "high", r.HighInjectorFlow, 178.088, 1e-5)
	// 275 · 1.2 = 330 g/min ÷ 745 g/l · 60 = 26.5772 l/h, at the base pressure.
	near(t, "pump", r.PumpFlow, 26.5772, 1e-5)
	near(t, "pump pressure", r.PumpPressure, 300, exact)
	// Air: 101325 / (287.053 · 293.15) = 1.20411 kg/m3; · 0.9 · 1 l · 6000/120 = 54.1848 g/s.
	near(t, "air", r.Paths[1].Air, 54.1848, 1e-5)
	// ÷ (0.88 · 14.7) · 60 = 251.321 g/min: 9 % less than 275, within the ranges.
	near(t, "fuel by air", r.Paths[1].FuelMass, 251.321, 1e-5)
	if r.Disagreement != nil {
		t.Errorf("ranges that meet are called a disagreement: %v", r.Warnings)
	}
}

func TestSmallEngineHeadroomByHand(t *testing.T) {
	in := smallEngine()
	in.Flow = unit.MlMin(200)
	r := headroom(t, in, Target{})
	// 200 ml/min · 0.745 = 149 g/min = 2.48333 mg/ms; 30.5556 ÷ that = 12.3043 ms, + 0.8.
	near(t, "pulse", r.Now.Pulse, 13.1043, 1e-5)
	near(t, "duty", r.Now.Duty, 65.5213, 1e-5)
	// At 80 % the open time is 15.2 ms: 55 kW · 15.2 / 12.3043 = 67.944 kW.
	near(t, "power", *r.MaxPower, 67.944, 1e-5)
	// The same fuel each cycle: window = 13.1043 / 0.80 = 16.3803 ms = 7325.87 rpm.
	near(t, "rpm", *r.MaxRPM, 7325.87, 1e-6)
}

// Boosted on pump fuel with 10 % ethanol: four cylinders, 2.0 l, 6800 rpm, 120 kPa
// of boost, 45 °C behind the cooler, worked from the air.
func pumpFuelEngine(t *testing.T) Inputs {
	return Inputs{
		Cylinders: 4, Displacement: litres(2), RPM: 6800, Boost: unit.KPa(120),
		VE: 0.95, Lambda: 0.80, ChargeTemp: unit.Celsius(45), Fuel: fuelNamed(t, "E10"),
		Pressure: unit.KPa(300), RatedPressure: unit.KPa(300),
		Duty: 0.85, DeadTime: unit.Ms(1.0), Margin: part(0.20),
	}
}

func TestPumpFuelEngineByHand(t *testing.T) {
	r := size(t, pumpFuelEngine(t))
	// E10: 0.9 · 744.70 + 0.1 · 789.35 = 749.166 kg/m3 at 60 °F, 749.567 at 15 °C.
	near(t, "density", r.Density, 749.567, 1e-6)
	// Mass share 78.935 / 749.166 = 0.105363; ratio 0.105363 · 9 + 0.894637 · 14.7 = 14.0994.
	near(t, "ratio", fuelNamed(t, "E10").Stoich, 14.0994, 1e-5)
	// (101.325 + 120) kPa / (287.053 · 318.15) · 0.95 · 2 l · 6800/120 = 260.926 g/s.
	near(t, "air", r.Paths[0].Air, 260.926, 1e-5)
	// ÷ (0.80 · 14.0994) · 60 = 1387.96 g/min.
	near(t, "fuel", r.EngineFuelMass, 1387.96, 1e-5)
	// 120000 / 6800 = 17.6471 ms; 1387.96 / 4 / 60 · 17.6471 = 102.056 mg.
	near(t, "per pulse", r.PerPulse, 102.056, 1e-5)
	// ÷ (0.85 · 17.6471 − 1) ms · 60 = 437.383 g/min = 583.514 ml/min; the regulator
	// follows the manifold, so 300 kPa stay across the injector.
	near(t, "ml/min", r.InjectorFlow, 583.514, 1e-5)
	near(t, "across", r.AcrossInjector, 300, exact)
	// 1387.96 · 1.2 / 749.567 · 60 = 133.321 l/h at 300 + 120 = 420 kPa.
	near(t, "pump", r.PumpFlow, 133.321, 1e-5)
	near(t, "pump pressure", r.PumpPressure, 420, exact)
	// With 350 kPa in the rail, quoted at 300: · √(300/350) = 540.229 ml/min.
	in := pumpFuelEngine(t)
	in.Pressure = unit.KPa(350)
	near(t, "at 350 kPa", size(t, in).InjectorFlow, 540.229, 1e-5)
}

// Boosted on E85 with a fixed regulator: six cylinders, 450 kW at 7000 rpm and
// 150 kPa, 400 kPa in the rail; a consumption of 340 g/kWh known for gasoline.
func fixedEngine(t *testing.T) Inputs {
	return Inputs{
		Cylinders: 6, RPM: 7000, Power: kW(450), Boost: unit.KPa(150),
		BSFC: perKWh(340), BSFCFuel: gasoline, Fuel: fuelNamed(t, "E85"),
		Lambda: 0.80, ChargeTemp: unit.Celsius(45),
		Pressure: unit.KPa(400), RatedPressure: unit.KPa(300), Regulator: Fixed,
		Duty: 0.85, DeadTime: unit.Ms(1.1), Margin: part(0.20),
	}
}

func TestFixedEngineByHand(t *testing.T) {
	r := size(t, fixedEngine(t))
	// E85: 783.118 kg/m3 at 15 °C, ratio 9.81354; 340 · 14.7 / 9.81354 = 509.296 g/kWh.
	near(t, "density", r.Density, 783.118, 1e-6)
	near(t, "consumption", r.Paths[0].BSFC, 509.296, 1e-6)
	if !hasNote(r.Notes(), "consumption_scaled") {
		t.Error("the scaling of the consumption is not mentioned")
	}
	// · 450 / 60 = 3819.72 g/min.
	near(t, "fuel", r.EngineFuelMass, 3819.72, 1e-6)
	// 120000 / 7000 = 17.1429 ms; 3819.72 / 6 / 60 · 17.1429 = 181.891 mg.
	near(t, "per pulse", r.PerPulse, 181.891, 1e-5)
	// ÷ (0.85 · 17.1429 − 1.1) ms · 60 = 810.121 g/min = 1034.48 ml/min at 400 − 150 kPa.
	near(t, "across", r.AcrossInjector, 250, exact)
	// Quoted at 300 kPa: · √(300/250) = 1133.22 ml/min.
	near(t, "ml/min", r.InjectorFlow, 1133.22, 1e-5)
	// 3819.72 · 1.2 / 783.118 · 60 = 351.186 l/h; the rail stays at 400 kPa.
	near(t, "pump", r.PumpFlow, 351.186, 1e-5)
	near(t, "pump pressure", r.PumpPressure, 400, exact)
}

func TestFixedEngineHeadroomByHand(t *testing.T) {
	in := fixedEngine(t)
	in.Flow = unit.MlMin(1600)
	r := headroom(t, in, Target{})
	// 1600 · √(250/300) ml/min · 0.783118 / 60 = 19.0637 mg/ms; 181.891 / that + 1.1 = 10.6413 ms.
	near(t, "pulse", r.Now.Pulse, 10.6413, 1e-5)
	near(t, "duty", r.Now.Duty, 62.0742, 1e-5)
	// Fuel follows (101.325 + b) / 251.325, flow √((400 − b)/300): 85 % at b = 208.910 kPa.
	near(t, "boost", *r.MaxBoost, 208.910, 1e-5)
	// With a referenced regulator 400 kPa stay across it: 50.4178 %.
	for _, m := range r.Remedies {
		if m.Name == "manifold-referenced regulator" {
			near(t, m.Name, *m.Duty, 50.4178, 1e-5)
			return
		}
	}
	t.Error("a referenced regulator is not among the remedies")
}

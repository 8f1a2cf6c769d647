package engine

import (
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// drawEngine is an engine with every figure given, so that no default steps.
func drawEngine(t *rapid.T) Inputs {
	draw := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	cylinders := rapid.IntRange(1, 12).Draw(t, "cylinders")
	return Inputs{
		Cylinders: cylinders, Displacement: litres(float64(cylinders) * draw("litres each", 0.2, 0.8)),
		RPM: draw("rpm", 3000, 9000), Power: kW(float64(cylinders) * draw("kW each", 10, 80)),
		BSFC: perKWh(draw("bsfc", 260, 400)), VE: unit.Ratio(draw("ve", 0.7, 1.05)), Lambda: draw("lambda", 0.7, 1.0),
		Fuel:  rapid.SampledFrom([]fluid.Fluid{mustFluid("gasoline"), mustFluid("E10"), mustFluid("E85"), mustFluid("methanol")}).Draw(t, "fuel"),
		Boost: unit.KPa(draw("boost", 0, 180)), ChargeTemp: unit.Celsius(draw("charge", 10, 90)),
		Pressure: unit.KPa(draw("pressure", 250, 600)), RatedPressure: unit.KPa(draw("rated", 250, 450)),
		Regulator: rapid.SampledFrom([]Regulator{Manifold, Fixed}).Draw(t, "regulator"),
		Exponent:  draw("exponent", 0.45, 0.55), Duty: unit.Ratio(draw("duty", 0.6, 0.95)),
		DeadTime: unit.Ms(draw("dead", 0.4, 1.4)), Margin: part(draw("margin", 0, 0.5)),
		BSFCFuel: mustFluid("gasoline"),
	}
}

func mustSize(t *rapid.T, in Inputs) SizeResult {
	r, err := Size(in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// More of each of these asks for a larger or a smaller injector, never the other way.
func TestSizeIsMonotone(t *testing.T) {
	type turn struct {
		name   string
		change func(in *Inputs, by float64)
		sign   float64
		air    bool // shows on the air path only
	}
	turns := []turn{
		{"power", func(in *Inputs, by float64) { in.Power *= unit.Power(1 + by) }, 1, false},
		{"bsfc", func(in *Inputs, by float64) { in.BSFC *= unit.Consumption(1 + by) }, 1, false},
		{"duty", func(in *Inputs, by float64) { in.Duty *= unit.Ratio(1 + by/10) }, -1, false},
		{"dead time", func(in *Inputs, by float64) { in.DeadTime *= unit.Time(1 + by) }, 1, false},
		{"pressure", func(in *Inputs, by float64) { in.Pressure *= unit.Pressure(1 + by) }, -1, false},
		{"rated pressure", func(in *Inputs, by float64) { in.RatedPressure *= unit.Pressure(1 + by) }, 1, false},
		{"rpm at the same power", func(in *Inputs, by float64) { in.RPM *= 1 + by }, 1, false},
		{"boost against a fixed regulator", func(in *Inputs, by float64) { in.Regulator = Fixed; in.Boost += unit.KPa(50 * by) }, 1, false},
		{"ve", func(in *Inputs, by float64) { in.VE *= unit.Ratio(1 + by) }, 1, true},
		{"displacement", func(in *Inputs, by float64) { in.Displacement *= unit.Volume(1 + by) }, 1, true},
		{"lambda", func(in *Inputs, by float64) { in.Lambda *= 1 + by }, -1, true},
		{"charge temperature", func(in *Inputs, by float64) { in.ChargeTemp += unit.Temperature(50 * by) }, -1, true},
		{"boost", func(in *Inputs, by float64) { in.Regulator = Manifold; in.Boost += unit.KPa(50 * by) }, 1, true},
		{"altitude", func(in *Inputs, by float64) { in.Regulator = Manifold; in.Altitude += unit.Length(3000 * by) }, -1, true},
	}
	rapid.Check(t, func(t *rapid.T) {
		in := drawEngine(t)
		c := rapid.SampledFrom(turns).Draw(t, "turn")
		if c.air {
			in.Power, in.BSFC = 0, 0
		}
		before := in
		c.change(&before, 0) // sets what the turn needs
		after := in
		c.change(&after, rapid.Float64Range(0.01, 0.3).Draw(t, "by"))
		a, b := mustSize(t, before), mustSize(t, after)
		if c.sign*(b.InjectorFlow-a.InjectorFlow) <= 0 {
			t.Errorf("%s: from %g to %g ml/min", c.name, a.InjectorFlow, b.InjectorFlow)
		}
		if !(a.LowInjectorFlow <= a.InjectorFlow && a.InjectorFlow <= a.HighInjectorFlow) {
			t.Errorf("%g is not between %g and %g", a.InjectorFlow, a.LowInjectorFlow, a.HighInjectorFlow)
		}
	})
}

func TestSizeThenHeadroomIsClosed(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		in := drawEngine(rt)
		in.Flow = unit.MlMin(mustSize(rt, in).InjectorFlow)
		sheet, err := in.DataSheet()
		if err != nil {
			rt.Fatal(err)
		}
		r, err := Headroom(in, []Injector{sheet}, Target{})
		if err != nil {
			rt.Fatal(err)
		}
		if math.Abs(r.Now.Duty-r.Limit) > 1e-9*r.Limit {
			rt.Errorf("duty %g, limit %g", r.Now.Duty, r.Limit)
		}
	})
}

// Fed with what the other found, both ways to the fuel agree.
func TestPathsAgreeOnConsistentInputs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawEngine(t)
		byAir := in
		byAir.Power = 0
		in.Power = kW(mustSize(t, byAir).Paths[0].Power)
		r := mustSize(t, in)
		if k := r.Paths[1].FuelMass / r.Paths[0].FuelMass; math.Abs(k-1) > 1e-9 || r.Disagreement != nil {
			t.Errorf("air over power is %g: %v", k, r.Warnings)
		}
		if math.Abs(r.Paths[0].VE-r.Paths[1].VE) > 1e-6 {
			t.Errorf("volumetric efficiency %g by power, %g by air", r.Paths[0].VE, r.Paths[1].VE)
		}
	})
}

func TestRelationsThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		back := func(what string, got, want float64) {
			if math.Abs(got-want) > 1e-9*math.Abs(want) {
				t.Errorf("%s: %g becomes %g", what, want, got)
			}
		}
		q, n := unit.MlMin(draw("flow", 50, 3000)), draw("exponent", 0.4, 0.6)
		p1, p2 := unit.KPa(draw("from", 100, 900)), unit.KPa(draw("to", 100, 900))
		back("flow", FlowAt(FlowAt(q, p1, p2, n), p2, p1, n).MlMin(), q.MlMin())
		m, pulse, dead := unit.Grams(draw("mass", 1e-3, 0.5)), unit.Ms(draw("pulse", 2, 40)), unit.Ms(draw("dead", 0, 1.9))
		static, err := StaticFlow(m, pulse, dead)
		if err != nil {
			t.Fatal(err)
		}
		back("pulse", PulseFor(m, static, dead).Ms(), pulse.Ms())
		fuel, b := unit.MassFlow(draw("fuel", 1e-4, 0.1)), perKWh(draw("bsfc", 200, 600))
		back("fuel", float64(FuelFromPower(PowerFromFuel(fuel, b), b)), float64(fuel))
		ve, v, rpm := unit.Ratio(draw("ve", 0.3, 1.2)), litres(draw("litres", 0.1, 8)), draw("rpm", 500, 12000)
		temp := unit.Celsius(draw("charge", -20, 120))
		back("filling", float64(VolumetricEfficiency(Air(v, rpm, ve, p1, temp), v, rpm, p1, temp)), float64(ve))
	})
}

// Neither an error's inputs nor a result's numbers are ever NaN or infinite.
func TestResultsAreFinite(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		in := drawEngine(rt)
		in.Flow = unit.MlMin(rapid.Float64Range(10, 3000).Draw(rt, "flow"))
		in.DeadTime = unit.Ms(rapid.Float64Range(0, 5).Draw(rt, "dead time"))
		if r, err := Size(in); err == nil {
			finite(t, "size", reflect.ValueOf(r))
		}
		sheet, err := in.DataSheet()
		if err != nil {
			rt.Skip()
		}
		target := Target{Boost: new(unit.KPa(rapid.Float64Range(0, 400).Draw(rt, "target boost"))), RPM: rapid.Float64Range(2000, 20000).Draw(rt, "target rpm")}
		if r, err := Headroom(in, []Injector{sheet}, target); err == nil {
			finite(t, "headroom", reflect.ValueOf(r))
		}
	})
}

package engine

import (
	"math"
	"testing"

	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// near fails unless got is within rel of want.
func near(t testing.TB, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s = %.9g, want %.9g ± %g %%", what, got, want, 100*rel)
	}
}

// exact is the agreement of two ways to compute one thing.
const exact = 1e-9

func hp(x float64) unit.Power            { return unit.Powers.In(x, "hp") }
func ps(x float64) unit.Power            { return unit.Powers.In(x, "ps") }
func kW(x float64) unit.Power            { return unit.Powers.In(x, "kW") }
func perKWh(g float64) unit.Consumption  { return unit.Consumptions.In(g, "g/kWh") }
func perHph(lb float64) unit.Consumption { return unit.Consumptions.In(lb, "lb/hph") }
func litres(x float64) unit.Volume       { return unit.Volumes.In(x, "l") }
func kelvin(x float64) unit.Temperature  { return unit.Temperature(x) }
func part(x float64) *unit.Ratio         { return new(unit.Ratio(x)) }
func gps(m unit.MassFlow) float64        { return unit.MassFlows.As(m, "g/s") }

// perPSh is a consumption in kg per metric horsepower hour.
func perPSh(kg float64) unit.Consumption { return unit.Consumption(kg / float64(ps(1)) / 3600) }

// kgfcm2 is a pressure in kilogram-force per square centimetre.
func kgfcm2(x float64) unit.Pressure { return unit.Pressure(98066.5 * x) }

// bores is the displacement of n cylinders of bore and stroke in mm.
func bores(n, bore, stroke float64) unit.Volume {
	return unit.Volume(n * math.Pi / 4 * bore * bore * stroke * 1e-9)
}

func fuelNamed(t testing.TB, name string) fluid.Fluid {
	t.Helper()
	f, err := fluid.Lookup(name)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// gasolineOf is gasoline of a density in kg/m3 at 15 °C.
func gasolineOf(rho float64) Inputs { return Inputs{FuelDensity: unit.Density(rho)} }

func size(t testing.TB, in Inputs) SizeResult {
	t.Helper()
	r, err := Size(in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func headroom(t testing.TB, in Inputs, target Target) HeadroomResult {
	t.Helper()
	sheet, err := in.DataSheet()
	if err != nil {
		t.Fatal(err)
	}
	r, err := Headroom(in, []Injector{sheet}, target)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

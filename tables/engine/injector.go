package engine

import (
	"fmt"

	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// An Injector is what headroom needs to know of one, from a bench or a data sheet.
type Injector interface {
	Name() string
	// Fluid is the liquid, and its temperature, that Static speaks of.
	Fluid() (fluid.Fluid, unit.Temperature)
	// Static is the flow while held open with dp across it, and the half-width of
	// its 95 % interval, 0 where unknown.
	Static(dp unit.Pressure) (flow, ci95 unit.VolumeFlow)
	// DeadTime is the part of a pulse that delivers nothing; the error says, in a
	// sentence, that the injector does not open or was not measured there.
	DeadTime(dp unit.Pressure, v unit.Voltage) (unit.Time, error)
	// Beyond says, in a sentence, that this condition lies outside what was measured;
	// "" where it does not.
	Beyond(dp unit.Pressure, v unit.Voltage) string
	// LinearFrom is the commanded pulse above which delivery follows a straight
	// line; 0 where unknown.
	LinearFrom() unit.Time
}

// A DataSheet is an injector known by a few figures.
type DataSheet struct {
	Label    string
	Flow     unit.VolumeFlow // at Rated
	CI95     unit.VolumeFlow // half-width of its 95 % interval, 0: unknown
	Rated    unit.Pressure
	Exponent float64   // of flow over pressure
	Dead     unit.Time // one figure for every voltage and pressure
	Linear   unit.Time // commanded pulse from which it is linear, 0: unknown
	Liquid   fluid.Fluid
	Temp     unit.Temperature
}

func (d DataSheet) Name() string                           { return d.Label }
func (d DataSheet) Fluid() (fluid.Fluid, unit.Temperature) { return d.Liquid, d.Temp }
func (d DataSheet) LinearFrom() unit.Time                  { return d.Linear }

// Beyond is empty: the one figure of a sheet has a caution of its own.
func (d DataSheet) Beyond(unit.Pressure, unit.Voltage) string { return "" }

// An Unknown is what can't be told of an injector, as an error: not the engine's
// inputs are at fault.
type Unknown struct{ error }

// Static follows FlowAt with the data sheet's exponent.
func (d DataSheet) Static(dp unit.Pressure) (flow, ci95 unit.VolumeFlow) {
	return FlowAt(d.Flow, d.Rated, dp, d.Exponent), FlowAt(d.CI95, d.Rated, dp, d.Exponent)
}

// DeadTime is the one figure of the sheet: what voltage and pressure do to it is
// not known.
func (d DataSheet) DeadTime(unit.Pressure, unit.Voltage) (unit.Time, error) { return d.Dead, nil }

// massStatic is an injector's static mass flow, and the half-width of its
// interval, in a fuel of density rho with dp across it: q·√(ρ_bench/ρ_fuel)·ρ_fuel.
func massStatic(i Injector, rho unit.Density, dp unit.Pressure) (flow, ci95 unit.MassFlow) {
	liquid, temp := i.Fluid()
	bench := liquid.At(temp)
	q, half := i.Static(dp)
	factor := unit.VolumeFlow(fluid.VolumeFactor(bench, rho))
	return fluid.MassFlow(q*factor, rho), fluid.MassFlow(half*factor, rho)
}

// checkInjector refuses one that delivers nothing.
func checkInjector(i Injector, dp unit.Pressure) error {
	if q, _ := i.Static(dp); !(q > 0) {
		return Unknown{fmt.Errorf("injector %s: its flow at %.4g kPa is not known, because other pressures were not measured: measure there, or give --assume", i.Name(), dp.KPa())}
	}
	return nil
}

// DataSheet is the injector at hand as its inputs describe it: flow at rated
// pressure in flow_fluid (at 20 °C), or where that is not given in the engine's
// fuel at 15 °C.
func (in Inputs) DataSheet() (DataSheet, error) {
	if !given(in.Flow) && !given(in.FlowMass) {
		return DataSheet{}, fmt.Errorf("flow: the static flow of the injector at hand is needed, or a bench file")
	}
	f, err := fill(in)
	if err != nil {
		return DataSheet{}, err
	}
	d := DataSheet{
		Label: "data sheet", Flow: in.Flow, Rated: f.RatedPressure, Exponent: f.Exponent,
		Dead: in.DeadTime, Linear: in.LinearFrom, Liquid: f.Fuel, Temp: referenceTemp,
	}
	d.Liquid.Density, d.Liquid.RefTemp = f.density, referenceTemp
	if in.FlowFluid.Name != "" && in.FlowFluid.Name != f.Fuel.Name {
		d.Liquid, d.Temp = in.FlowFluid, unit.Celsius(20)
	}
	if given(in.FlowMass) {
		d.Flow = fluid.VolumeFlow(in.FlowMass, d.Liquid.At(d.Temp))
	}
	return d, nil
}

// noteDataSheet says what DataSheet had to assume.
func (f *filled) noteDataSheet() {
	if !given(f.Flow) && !given(f.FlowMass) {
		return
	}
	f.noteDeadTime()
	if f.FlowFluid.Name == "" {
		f.use("flow_fluid", f.Fuel.Name, "not given; flow is often quoted in n-heptane or another bench fluid")
	}
}

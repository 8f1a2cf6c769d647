package engine

import (
	"math"

	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// A Condition is an engine at full load with nothing left open: where a what-if on
// duty begins.
type Condition struct {
	Power          unit.Power // at the crank
	BSFC           unit.Consumption
	Fuel           fluid.Fluid // with the density of 15 °C that is used
	RPM            float64
	Injectors      int
	PulsesPerCycle int
	Share          unit.Ratio    // of the fuel that goes through them
	Across         unit.Pressure // across the injector
	Voltage        unit.Voltage
	Duty           unit.Ratio // the limit
	defaults       []Default
}

// ConditionOf completes inputs; its errors are those of Headroom.
func ConditionOf(in Inputs) (Condition, error) {
	f, err := fill(in)
	if err != nil {
		return Condition{}, err
	}
	fallback(&f, &f.RPM, usualRPM, "rpm", "6000", plainest)
	fallback(&f, &f.Voltage, 13.5, "voltage", "13.5 V", practice)
	fuel := f.Fuel
	fuel.Density, fuel.RefTemp = f.density, referenceTemp
	return Condition{
		Power: PowerFromFuel(f.fuel().mid, f.BSFC), BSFC: f.BSFC, Fuel: fuel, RPM: f.RPM,
		Injectors: f.sets[0].injectors, PulsesPerCycle: f.sets[0].pulses, Share: unit.Ratio(f.sets[0].share),
		Across: f.dp, Voltage: f.Voltage, Duty: f.Duty, defaults: f.defaults,
	}, nil
}

const usualRPM = 6000

// Assumed says where an input's value comes from that was not given; "" where it was.
func (c Condition) Assumed(key string) string {
	for _, d := range c.defaults {
		if d.Name == key {
			return d.Source
		}
	}
	return ""
}

// Supposed puts an engine behind injectors of which nothing is known: one that burns
// two thirds of what n of them let through held open, flow each.
func Supposed(in Inputs, n int, flow unit.MassFlow) (Condition, error) {
	in.Cylinders, in.RPM, in.Power = n, usualRPM, unit.Power(1e3)
	f, err := fill(in)
	if err != nil {
		return Condition{}, err
	}
	kW := PowerFromFuel(flow*unit.MassFlow(n)*2/3, f.BSFC).KW()
	in.Power = unit.Power(1e3 * math.Max(1, math.Round(kW)))
	c, err := ConditionOf(in)
	for _, key := range []string{"power", "rpm", "injectors"} {
		c.defaults = append(c.defaults, Default{Name: key, Source: "nothing was said of the engine"})
	}
	return c, err
}

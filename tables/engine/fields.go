package engine

import (
	"fmt"
	"slices"

	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// Slips that stand behind numbers outside their limits.
const (
	slipShare  = "write a share with its sign (85%) or below one (0.85)"
	slipBSFC   = "0.5 is a usual figure in lb/hph, 300 in g/kWh; the two may have been mixed up"
	slipLambda = "lambda is near 1; a figure such as 12.5 is an air-fuel ratio, to be given as afr"
	slipAFR    = "an air-fuel ratio is the mass of air per mass of fuel; a figure near 1 is a lambda, to be given as lambda"
	slipBoost  = "boost counts from the surrounding air, so 200 kPa absolute is a boost of about 100 kPa; psi may have been taken for kPa or bar"
	slipRail   = "a port injector works at 200 to 600 kPa; bar (3bar) or psi (43.5psi) may have been written without that unit"
	slipVE     = "a volumetric efficiency is about 90%: 0.9, not 9 or 90"
	slipSize   = "2.0L is 2000cc; the displacement is that of all cylinders"
	slipTemp   = "C and F may have been mixed up"
)

var fields = []Field{
	{
		Key: "title", Unit: "text", About: "what the engine is called",
		set:   func(in *Inputs, text string) error { in.Title = text; return nil },
		value: func(in Inputs) any { return word(in.Title) },
		check: func(Inputs) error { return nil },
	},
	count("cylinders", "number of cylinders", limits{1, 24, ""}, func(in *Inputs) *int { return &in.Cylinders }),
	quantity("displacement", "L", "displacement of all cylinders", unit.Volumes, limits{0.02, 30, slipSize}, func(in *Inputs) *unit.Volume { return &in.Displacement }),
	plain("rpm", "1/min", "speed at full power", limits{200, 25000, "write the speed in turns per minute"}, func(in *Inputs) *float64 { return &in.RPM }),

	quantity("power", "kW", "power wanted at full load", unit.Powers, limits{0.3, 5000, "W and kW may have been mixed up"}, func(in *Inputs) *unit.Power { return &in.Power }),
	choice("power_at", "where that power is measured", []string{"crank", "wheels"}, func(in *Inputs) *string { return &in.PowerAt }),
	share("driveline_loss", "share of crank power lost on the way to the wheels", limits{0, 50, slipShare}, func(in *Inputs) **unit.Ratio { return &in.DrivelineLoss }),
	quantity("bsfc", "g/kWh", "specific fuel consumption at full load", unit.Consumptions, limits{120, 2500, slipBSFC}, func(in *Inputs) *unit.Consumption { return &in.BSFC }),
	quantity("bsfc_low", "g/kWh", "low end of its range", unit.Consumptions, limits{120, 2500, slipBSFC}, func(in *Inputs) *unit.Consumption { return &in.BSFCLow }),
	quantity("bsfc_high", "g/kWh", "high end of its range", unit.Consumptions, limits{120, 2500, slipBSFC}, func(in *Inputs) *unit.Consumption { return &in.BSFCHigh }),
	liquid("bsfc_fuel", "fuel that the consumption was measured with, if another", func(in *Inputs) *fluid.Fluid { return &in.BSFCFuel }),

	ratio("ve", "volumetric efficiency, with the charge in the manifold as reference", limits{30, 140, slipVE}, func(in *Inputs) *unit.Ratio { return &in.VE }),
	ratio("ve_low", "low end of its range", limits{30, 140, slipVE}, func(in *Inputs) *unit.Ratio { return &in.VELow }),
	ratio("ve_high", "high end of its range", limits{30, 140, slipVE}, func(in *Inputs) *unit.Ratio { return &in.VEHigh }),
	liquid("fuel", "fuel, or a blend such as E60", func(in *Inputs) *fluid.Fluid { return &in.Fuel }),
	quantity("fuel_density", "kg/m3", "its density at 15 C, where measured", unit.Densities, limits{550, 1300, "gasoline has about 745 kg/m3"}, func(in *Inputs) *unit.Density { return &in.FuelDensity }),
	plain("lambda", "ratio", "mixture at full load as lambda", limits{0.6, 1.4, slipLambda}, func(in *Inputs) *float64 { return &in.Lambda }),
	plain("afr", "ratio", "mixture at full load as air-fuel ratio of the fuel in use", limits{3, 22, slipAFR}, func(in *Inputs) *float64 { return &in.AFR }),

	quantity("boost", "kPa", "manifold pressure above the surrounding air", unit.Pressures, limits{-90, 450, slipBoost}, func(in *Inputs) *unit.Pressure { return &in.Boost }),
	quantity("charge_temp", "C", "temperature of the charge in the manifold", unit.Temperatures, limits{-40, 250, slipTemp}, func(in *Inputs) *unit.Temperature { return &in.ChargeTemp }),
	ratio("compressor_efficiency", "isentropic efficiency of the compressor", limits{30, 95, slipShare}, func(in *Inputs) *unit.Ratio { return &in.Compressor }),
	share("intercooler_effectiveness", "effectiveness of the intercooler, 0% for none", limits{0, 100, slipShare}, func(in *Inputs) **unit.Ratio { return &in.Intercooler }),
	quantity("intercooler_drop", "kPa", "pressure lost in the intercooler", unit.Pressures, limits{0, 80, ""}, func(in *Inputs) *unit.Pressure { return &in.IntercoolerDrop }),
	quantity("altitude", "m", "height above the sea", unit.Lengths, limits{-430, 5000, "m and ft may have been mixed up"}, func(in *Inputs) *unit.Length { return &in.Altitude }),
	quantity("ambient_temp", "C", "temperature of the surrounding air", unit.Temperatures, limits{-60, 60, slipTemp}, func(in *Inputs) *unit.Temperature { return &in.AmbientTemp }),

	quantity("pressure", "kPa", "rail pressure (gauge) at zero boost", unit.Pressures, limits{50, 1000, slipRail}, func(in *Inputs) *unit.Pressure { return &in.Pressure }),
	quantity("rated_pressure", "kPa", "pressure at which injector flow is quoted", unit.Pressures, limits{50, 1000, slipRail}, func(in *Inputs) *unit.Pressure { return &in.RatedPressure }),
	choice("regulator", "what the pressure regulator refers to", []Regulator{Manifold, Fixed}, func(in *Inputs) *Regulator { return &in.Regulator }),
	plain("flow_exponent", "ratio", "exponent of static flow over pressure, where measured", limits{0.3, 0.7, "an orifice has 0.5"}, func(in *Inputs) *float64 { return &in.Exponent }),
	ratio("duty", "highest duty allowed", limits{10, 100, slipShare}, func(in *Inputs) *unit.Ratio { return &in.Duty }),
	quantity("dead_time", "ms", "dead time at full load", unit.Times, limits{0, 5, "us and ms may have been mixed up"}, func(in *Inputs) *unit.Time { return &in.DeadTime }),
	quantity("voltage", "V", "supply voltage at the injector", unit.Voltages, limits{5, 32, ""}, func(in *Inputs) *unit.Voltage { return &in.Voltage }),
	share("margin", "surplus of the pump over the engine's need", limits{0, 100, slipShare}, func(in *Inputs) **unit.Ratio { return &in.Margin }),
	quantity("pump_flow", "l/h", "what a pump at hand delivers", unit.VolumeFlows, limits{5, 5000, ""}, func(in *Inputs) *unit.VolumeFlow { return &in.PumpFlow }),
	quantity("pump_pressure", "kPa", "pressure at which it delivers that", unit.Pressures, limits{20, 1500, slipRail}, func(in *Inputs) *unit.Pressure { return &in.PumpPressure }),

	count("injectors", "injectors that fuel the engine, secondary ones apart", limits{1, 96, ""}, func(in *Inputs) *int { return &in.Injectors }),
	count("pulses_per_cycle", "pulses of each injector in two turns: 1 once per cycle, 2 once per turn", limits{1, 24, ""}, func(in *Inputs) *int { return &in.PulsesPerCycle }),
	count("secondary_injectors", "injectors of a second set that joins in at high load", limits{1, 96, ""}, func(in *Inputs) *int { return &in.SecondaryInjectors }),
	ratio("secondary_share", "share of the fuel that the second set gives at full power", limits{1, 95, slipShare}, func(in *Inputs) *unit.Ratio { return &in.SecondaryShare }),

	flowField,
	liquid("flow_fluid", "fluid that this flow was measured in", func(in *Inputs) *fluid.Fluid { return &in.FlowFluid }),
	quantity("linear_from", "ms", "commanded pulse from which the injector is linear", unit.Times, limits{0.1, 10, "us and ms may have been mixed up"}, func(in *Inputs) *unit.Time { return &in.LinearFrom }),

	plain("idle_rpm", "1/min", "idle speed", limits{200, 5000, ""}, func(in *Inputs) *float64 { return &in.IdleRPM }),
	quantity("idle_fuel", "l/h", "fuel of the whole engine at idle", unit.VolumeFlows, limits{0.02, 60, ""}, func(in *Inputs) *unit.VolumeFlow { return &in.IdleFuel }),
	quantity("idle_map", "kPa", "absolute manifold pressure at idle", unit.Pressures, limits{10, 100, "this one is absolute: a vacuum of 70 kPa is about 30 kPa"}, func(in *Inputs) *unit.Pressure { return &in.IdleMAP }),
	ratio("idle_ve", "volumetric efficiency at idle", limits{20, 120, slipVE}, func(in *Inputs) *unit.Ratio { return &in.IdleVE }),
}

var flowLimits = limits{5, 20000, "the static flow of one injector is meant"}

// flowField takes a volume flow or a mass flow.
var flowField = Field{
	Key: "flow", Unit: "ml/min", About: "static flow of the injector at hand, at rated pressure",
	set: func(in *Inputs, text string) error {
		in.Flow, in.FlowMass = 0, 0
		mass, err := unit.MassFlows.Parse(text)
		if err == nil {
			in.FlowMass = mass
			return flowLimits.check(mass.GMin(), "g/min")
		}
		in.Flow, err = unit.VolumeFlows.Parse(text)
		if err != nil {
			return fmt.Errorf("%w; or a mass flow in %s", err, unit.MassFlows.Symbols())
		}
		return flowLimits.check(in.Flow.MlMin(), "ml/min")
	},
	value: func(in Inputs) any {
		switch {
		case in.FlowMass > 0:
			return number(in.FlowMass.GMin()) + "g/min"
		case in.Flow > 0:
			return number(in.Flow.MlMin()) + "ml/min"
		}
		return nil
	},
	check: func(in Inputs) error {
		if !nearZero(float64(in.FlowMass)) {
			return flowLimits.check(in.FlowMass.GMin(), "g/min")
		}
		if !nearZero(float64(in.Flow)) {
			return flowLimits.check(in.Flow.MlMin(), "ml/min")
		}
		return nil
	},
}

// Fields lists every input, in the order of an engine file.
func Fields() []Field { return slices.Clone(fields) }

// FieldOf finds a field by its key.
func FieldOf(key string) (Field, bool) {
	for _, f := range fields {
		if f.Key == key {
			return f, true
		}
	}
	return Field{}, false
}

package engine

import (
	"slices"

	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// Inputs is what is known of an engine and its fuel system. A zero field was not
// given and is filled in from the defaults; where zero has a meaning of its own
// the field is a pointer. Fields lists them with their keys, units and limits.
type Inputs struct {
	Title string

	Cylinders    int
	Displacement unit.Volume // of all cylinders
	RPM          float64

	Power         unit.Power
	PowerAt       string      // crank or wheels
	DrivelineLoss *unit.Ratio // of power measured at the wheels
	BSFC          unit.Consumption
	BSFCLow       unit.Consumption
	BSFCHigh      unit.Consumption
	BSFCFuel      fluid.Fluid // the fuel that BSFC speaks of; zero: Fuel

	VE, VELow, VEHigh unit.Ratio // with the charge in the manifold as reference
	Fuel              fluid.Fluid
	FuelDensity       unit.Density // of Fuel at 15 °C, where it was measured
	Lambda, AFR       float64      // one of the two

	Boost           unit.Pressure // above the surrounding air
	ChargeTemp      unit.Temperature
	Compressor      unit.Ratio    // isentropic efficiency
	Intercooler     *unit.Ratio   // effectiveness; 0: none
	IntercoolerDrop unit.Pressure // pressure lost in it
	Altitude        unit.Length
	AmbientTemp     unit.Temperature

	Pressure      unit.Pressure // rail gauge pressure at zero boost
	RatedPressure unit.Pressure // at which injector flow is quoted
	Regulator     Regulator
	Exponent      float64 // of static flow over pressure
	Duty          unit.Ratio
	DeadTime      unit.Time
	DeadTimeFrom  string       // where it comes from, to be told among the defaults; "": the user
	Voltage       unit.Voltage // supply at the injector
	Margin        *unit.Ratio  // of the pump
	PumpFlow      unit.VolumeFlow
	PumpPressure  unit.Pressure // at which PumpFlow was measured

	Injectors          int // that fuel the engine, secondary ones apart
	PulsesPerCycle     int // pulses of each injector in two turns
	SecondaryInjectors int
	SecondaryShare     unit.Ratio // of the fuel at full power

	Flow       unit.VolumeFlow // of the injector at hand, at RatedPressure
	FlowMass   unit.MassFlow   // the same as a mass
	FlowFluid  fluid.Fluid     // in which it was measured; zero: Fuel
	LinearFrom unit.Time       // commanded pulse from which it is linear

	IdleRPM  float64
	IdleFuel unit.VolumeFlow // of the whole engine
	IdleMAP  unit.Pressure   // absolute
	IdleVE   unit.Ratio
}

// InjectorKeys are the inputs that describe the injector at hand, which a bench file
// describes better.
var InjectorKeys = []string{"flow", "flow_fluid", "dead_time", "linear_from"}

// InjectorFlags are the flags of InjectorKeys.
func InjectorFlags() (flags []string) {
	for _, f := range fields {
		if slices.Contains(InjectorKeys, f.Key) {
			flags = append(flags, f.Flag())
		}
	}
	return flags
}

// WithoutInjector leaves out what describes the injector at hand, and says which
// inputs that were.
func (in Inputs) WithoutInjector() (Inputs, []string) {
	var keys []string
	for _, f := range fields {
		if slices.Contains(InjectorKeys, f.Key) && f.value(in) != nil {
			keys = append(keys, f.Key)
		}
	}
	in.Flow, in.FlowMass, in.FlowFluid, in.DeadTime, in.LinearFrom = 0, 0, fluid.Fluid{}, 0, 0
	return in, keys
}

// referenceTemp is the temperature at which fuel is sold and answers are given.
var referenceTemp = unit.Celsius(15)

// A Default is a value that was used because none was given.
type Default struct {
	Name   string `json:"name"`
	Value  string `json:"value"`
	Source string `json:"source"`
}

package plan

import (
	"injtab/fit"
	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// A Purpose says what the session is for.
type Purpose string

const (
	Match Purpose = "match" // compare injectors at one condition
	Map   Purpose = "map"   // dead time and flow over voltage and pressure
	Both  Purpose = "both"
)

// Inputs are what is known of injectors and bench. Zero values take the defaults
// that the plan then states.
type Inputs struct {
	Title   string
	Number  int      // of injectors, where IDs is empty
	IDs     []string // what is written on them
	Slots   int      // injectors that run together, each above a vessel of its own
	Purpose Purpose  // default both

	Flow          unit.VolumeFlow // expected static flow at rated pressure; 0: not known
	RatedPressure unit.Pressure   // default 300 kPa
	DeadTime      unit.Time       // expected at rated pressure and 13.5 V; 0: not known
	ClosingTime   unit.Time       // off-time that the injector needs to close; 0: what the fit asks for
	Resistance    unit.Resistance // of the coil; 0: not known

	Period    unit.Time      // from one pulse to the next; default 20 ms
	Frequency unit.Frequency // instead of the period

	Vessel Vessel
	Scale  Scale // instead of the vessel

	Pressures     []unit.Pressure  // those to use
	PressureRange [2]unit.Pressure // instead: lowest and highest that the bench can hold
	Voltages      []unit.Voltage
	VoltageRange  [2]unit.Voltage

	PressureLimit unit.Ratio // limits of error: gauge, default 0.5 %
	VoltageLimit  unit.Ratio // voltmeter, default 0.4 %
	TimerLimit    unit.Time  // pulse, default 5 µs
	Scatter       *fit.Scatter

	Fluid  *fluid.Fluid
	AtHand unit.Volume // fluid there is; 0: not told

	Target    unit.Ratio // standard uncertainty wanted of delivered fuel; default 1 %
	BenchTime unit.Time  // 0: as long as the target takes
	Reference string     // injector to take part in every run; "": the first

	Handling unit.Time // to empty, read and write down after a run; default 60 s
	Settling unit.Time // to set another pressure or voltage; default 30 s
	Seating  unit.Time // to change the injectors on the rail; default 10 min
}

// A Vessel catches what one slot delivers.
type Vessel struct {
	Capacity  unit.Volume
	TopMark   unit.Volume // highest mark; 0: the capacity
	Division  unit.Volume // 0: as usual for the capacity
	Tolerance unit.Volume // limit of error of its calibration; 0: class B
}

// A Scale weighs what one slot delivers.
type Scale struct {
	Capacity  unit.Mass // of the beaker on it
	Step      unit.Mass
	Tolerance unit.Mass // limit of error; 0: one step
}

// Limits and habits of benches; common practice, no source.
const (
	defaultPeriod    = 20e-3 // s
	defaultRated     = 300e3 // Pa
	defaultTarget    = 0.01
	defaultVoltage   = 13.5
	defaultHandling  = 60.0  // s
	defaultSettling  = 30.0  // s
	defaultSeating   = 600.0 // s
	topDuty          = 0.90
	longestRun       = 300.0 // s
	longestHold      = 30.0  // s, coil driven without a break
	lowResistance    = 8.0   // Ω, below which a coil is not held open on full supply
	lowestGuess      = 150.0 // ml/min, flows of port injectors where none is expected
	highestGuess     = 1000.0
	spreadOfKnown    = 0.10 // relative, of injectors about the expected flow
	longestDay       = 8 * 3600.0
	mostInjectors    = 200
	mostSlots        = 32
	usualOpenTime    = 0.6 // ms, of the shortest pulse where the dead time is expected
	cautiousOpenTime = 0.9 // ms, where it is not
)

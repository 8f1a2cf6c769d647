package plan

import (
	"fmt"
	"math"
	"slices"

	"injtab/fit"
	"injtab/fit/bench"
	"injtab/fit/diag"
	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// A job is the inputs made complete: what every part of the plan works from.
type job struct {
	Inputs
	expect    fit.Expectation
	setup     bench.Setup
	vessel    Vessel
	fill      unit.Volume // most that a reading may be expected to bring
	filling   unit.Volume // that of the fullest candidate
	weighed   bool
	period    unit.Time
	pressures []unit.Pressure // rising
	voltages  []unit.Voltage  // rising
	refP      unit.Pressure   // where injectors are compared
	refV      unit.Voltage
	longest   unit.Time // pulse
	least     unit.Time // off-time
	shortest  float64   // ms of open time
	notes     []diag.Note
}

func (j *job) say(code, format string, args ...any) {
	j.notes = append(j.notes, diag.Warn(code, format, args...))
}

// prepare completes the inputs. An error says in one sentence what is wrong.
func prepare(in Inputs) (*job, error) {
	j := &job{Inputs: in}
	for _, step := range []func() error{
		j.checkNumbers, j.setDefaults, j.setInjectors, j.setFluid, j.setVessel, j.setFlow, j.setPeriod,
		j.setPressures, j.setVoltages, j.setSetup, j.checkShot,
	} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	return j, nil
}

func (j *job) setDefaults() error {
	setDefault(&j.Purpose, Both)
	setDefault(&j.RatedPressure, defaultRated)
	setDefault(&j.PressureLimit, 0.005)
	setDefault(&j.VoltageLimit, 0.004)
	setDefault(&j.TimerLimit, unit.Ms(0.005))
	setDefault(&j.Target, defaultTarget)
	setDefault(&j.Handling, defaultHandling)
	setDefault(&j.Settling, defaultSettling)
	setDefault(&j.Seating, defaultSeating)
	if j.Scatter == nil {
		usual := fit.UsualScatter()
		j.Scatter = &usual
	}
	if !slices.Contains([]Purpose{Match, Map, Both}, j.Purpose) {
		return fmt.Errorf("the purpose %q is not known: write match, map or both", j.Purpose)
	}
	return nil
}

func setDefault[T comparable](at *T, value T) {
	var zero T
	if *at == zero {
		*at = value
	}
}

func (j *job) setInjectors() error {
	if len(j.IDs) == 0 {
		for i := range j.Number {
			j.IDs = append(j.IDs, fmt.Sprint(i+1))
		}
	}
	if j.Number > 0 && j.Number != len(j.IDs) {
		return fmt.Errorf("%d injectors were announced but %d are named: give one of the two", j.Number, len(j.IDs))
	}
	switch n := len(j.IDs); {
	case n == 0:
		return fmt.Errorf("there is no injector to plan for: give their number, or what is written on them")
	case n > mostInjectors:
		return fmt.Errorf("%d injectors are more than one session can take: plan at most %d at a time", n, mostInjectors)
	}
	j.Number = len(j.IDs)
	if err := distinct(j.IDs); err != nil {
		return err
	}
	switch {
	case j.Slots == 0:
		return fmt.Errorf("the number of slots is missing: write how many injectors the rail holds, each above a vessel of its own")
	case j.Slots > mostSlots:
		return fmt.Errorf("%d slots are more than a bench has: expected 1 to %d", j.Slots, mostSlots)
	}
	if j.Reference == "" {
		j.Reference = j.IDs[0]
	} else if !slices.Contains(j.IDs, j.Reference) {
		return fmt.Errorf("the reference injector %q is not among the injectors: name one of them", j.Reference)
	}
	return nil
}

func distinct(ids []string) error {
	seen := map[string]bool{}
	for _, id := range ids {
		switch {
		case id == "":
			return fmt.Errorf("an injector has no name: write something on each")
		case seen[id]:
			return fmt.Errorf("two injectors are named %q: write something else on one of them", id)
		}
		seen[id] = true
	}
	return nil
}

func (j *job) setFluid() error {
	if j.Fluid == nil {
		f, err := fluid.Lookup("n-heptane")
		if err != nil {
			return err
		}
		j.Fluid = &f
		if j.Scale.Step > 0 {
			j.say("fluid_assumed", "no fluid was named: the amounts to weigh are worked out for n-heptane")
		}
	}
	return nil
}

// setFlow settles the flow to expect, and how full a vessel may then be.
func (j *job) setFlow() error {
	j.expect = fit.Expectation{Flow: j.Flow, DeadTime: j.DeadTime, Scatter: *j.Scatter}
	most := 1 + spreadOfKnown
	if j.Flow <= 0 {
		j.expect.Flow = unit.MlMin(math.Sqrt(lowestGuess * highestGuess))
		most = highestGuess / j.expect.Flow.MlMin()
		j.say("flow_assumed", "the static flow is not known: anything from %.0f to %.0f ml/min is allowed for, which leaves vessels half empty; run one injector for ten seconds, then plan again with what it delivered",
			lowestGuess, highestGuess)
	}
	j.fill = unit.Volume(float64(j.vessel.TopMark) / most)
	j.shortest = usualOpenTime
	if j.DeadTime <= 0 {
		j.shortest = cautiousOpenTime
		j.say("dead_time_assumed", "the dead time is not known: a usual one is assumed, %.2f ms at %.4g kPa and 13.5 V, and the shortest pulses are kept %.1f ms longer",
			j.expect.DeadTimeAt(j.RatedPressure, j.RatedPressure, defaultVoltage).Ms(), j.RatedPressure.KPa(), cautiousOpenTime)
	}
	return nil
}

// setPeriod settles the longest pulse: the injector must close between two, and
// the coil must not be driven more than the top duty.
func (j *job) setPeriod() error {
	j.period = j.Period
	if j.Frequency > 0 {
		if j.Period > 0 {
			return fmt.Errorf("period and frequency were both given: leave one of them out")
		}
		j.period = unit.Time(1 / float64(j.Frequency))
	}
	setDefault(&j.period, unit.Time(defaultPeriod))
	j.least = j.ClosingTime
	if j.least < unit.Ms(fit.LeastOffTime) {
		j.least = unit.Ms(fit.LeastOffTime)
	}
	j.longest = min(unit.Time(topDuty)*j.period, j.period-j.least)
	return nil
}

func (j *job) setSetup() error {
	j.setup = bench.Setup{
		Title: j.Title, Fluid: *j.Fluid, HasFluid: true, RatedPressure: j.RatedPressure,
		Division: j.vessel.Division, VesselLimit: j.vessel.Tolerance,
		PressureLimit: j.PressureLimit, VoltageLimit: j.VoltageLimit, TimerLimit: j.TimerLimit,
	}
	return nil
}

func (j *job) setVessel() error {
	v := j.Vessel
	if j.Scale.Step > 0 {
		if v.Capacity > 0 {
			return fmt.Errorf("a vessel and a scale were both given: leave one of them out")
		}
		if j.Scale.Capacity <= 0 {
			return fmt.Errorf("the beaker's capacity is missing: write how many grams of fluid it holds beside the scale's step")
		}
		v, j.weighed = j.Scale.vessel(j.Fluid.Density), true
	}
	if v.Capacity <= 0 {
		return fmt.Errorf("the vessel's capacity is missing: write what one measuring vessel holds, for example 100ml")
	}
	v = v.withUsual()
	switch {
	case v.TopMark > v.Capacity*(1+1e-9):
		return fmt.Errorf("the top mark of %.6g ml is above the vessel's capacity of %.6g ml: check both", v.TopMark.Ml(), v.Capacity.Ml())
	case v.Division > v.TopMark/5:
		return fmt.Errorf("a division of %.6g ml is too coarse for a vessel of %.6g ml: nothing could be read to better than %.0f %%; use a finer vessel or a scale",
			v.Division.Ml(), v.TopMark.Ml(), 100*float64(v.Division/v.TopMark)/math.Sqrt(12))
	}
	j.vessel = v
	return nil
}

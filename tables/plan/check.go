package plan

import (
	"fmt"
	"math"
	"slices"

	"injtab/fit/unit"
)

// A bound is what a quantity can be on a bench for port injectors; 0 stands for
// not given.
type bound struct {
	name   string
	value  float64
	lo, hi float64
	symbol string
}

// checkNumbers refuses what no bench has: a slip of the pen or of a unit (the
// limits are common practice, no source).
func (j *job) checkNumbers() error {
	list := []bound{
		{"number of injectors", float64(j.Number), 1, mostInjectors, ""},
		{"number of slots", float64(j.Slots), 1, mostSlots, ""},
		{"static flow", j.Flow.MlMin(), 20, 10000, "ml/min"},
		{"rated pressure", j.RatedPressure.KPa(), 10, 1500, "kPa"},
		{"dead time", j.DeadTime.Ms(), 0.05, 5, "ms"},
		{"closing time", j.ClosingTime.Ms(), 0.1, 20, "ms"},
		{"coil resistance", float64(j.Resistance), 0.1, 1000, "ohm"},
		{"period", j.Period.Ms(), 2, 1000, "ms"},
		{"frequency", float64(j.Frequency), 1, 500, "Hz"},
		{"capacity of the vessel", j.Vessel.Capacity.Ml(), 1, 20000, "ml"},
		{"top mark", j.Vessel.TopMark.Ml(), 1, 20000, "ml"},
		{"division", j.Vessel.Division.Ml(), 0.001, 100, "ml"},
		{"tolerance of the vessel", j.Vessel.Tolerance.Ml(), 0.001, 100, "ml"},
		{"capacity of the beaker", j.Scale.Capacity.Grams(), 1, 20000, "g"},
		{"step of the scale", j.Scale.Step.Grams(), 0.0001, 10, "g"},
		{"tolerance of the scale", j.Scale.Tolerance.Grams(), 0.0001, 100, "g"},
		{"uncertainty of the gauge", j.PressureLimit.Pct(), 0.001, 20, "%"},
		{"uncertainty of the voltmeter", j.VoltageLimit.Pct(), 0.001, 20, "%"},
		{"uncertainty of the timer", 1e3 * j.TimerLimit.Ms(), 0.001, 1000, "us"},
		{"fluid at hand", 1e-3 * j.AtHand.Ml(), 0.01, 10000, "l"},
		{"target", j.Target.Pct(), 0.01, 20, "%"},
		{"bench time", j.BenchTime.Seconds() / 60, 5, 60 * 24, "min"},
		{"time between runs", j.Handling.Seconds(), 1, 3600, "s"},
		{"time to set pressure or voltage", j.Settling.Seconds(), 1, 3600, "s"},
		{"time to change injectors", j.Seating.Seconds() / 60, 0.1, 240, "min"},
	}
	for _, p := range append(slices.Clone(j.Pressures), j.PressureRange[:]...) {
		list = append(list, bound{"pressure", p.KPa(), 10, 1500, "kPa"})
	}
	for _, v := range append(slices.Clone(j.Voltages), j.VoltageRange[:]...) {
		list = append(list, bound{"voltage", v.V(), 4, 60, "V"})
	}
	for _, b := range list {
		if err := b.check(); err != nil {
			return err
		}
	}
	return nil
}

func (b bound) check() error {
	if math.IsNaN(b.value) || b.value < 0 || b.value > 0 && (b.value < b.lo*(1-1e-9) || b.value > b.hi*(1+1e-9)) {
		if b.symbol == "" {
			return fmt.Errorf("a %s of %.6g is not possible: expected %.6g to %.6g", b.name, b.value, b.lo, b.hi)
		}
		return fmt.Errorf("a %s of %.6g %s is not possible on a bench for port injectors: expected %.6g to %.6g %s; check the number and its unit",
			b.name, b.value, b.symbol, b.lo, b.hi, b.symbol)
	}
	return nil
}

// checkShot refuses a bench on which no pulse that the fit can use fits the period
// or the vessel.
func (j *job) checkShot() error {
	for _, p := range j.pressures {
		for _, v := range j.voltages {
			long := j.expect.DeadTimeAt(j.RatedPressure, p, v) + unit.Ms(math.Max(j.shortest, leastLong))
			if long > j.longest {
				return fmt.Errorf("a period of %.6g ms is too short: at %.4g kPa and %.4g V a pulse of %.2f ms is needed and %.2f ms to close, within %.0f %% duty; use a period of at least %.0f ms, or leave this voltage out",
					j.period.Ms(), p.KPa(), v.V(), long.Ms(), j.least.Ms(), 100*topDuty, math.Ceil(math.Max((long+j.least).Ms(), long.Ms()/topDuty)))
			}
		}
	}
	top := j.pressures[len(j.pressures)-1]
	shot := j.expect.PerShot(j.RatedPressure, j.expect.DeadTimeAt(j.RatedPressure, top, j.refV)+unit.Ms(j.shortest), j.period, top, j.refV)
	if shot > j.fill {
		return fmt.Errorf("the vessel is smaller than one shot: the shortest useful pulse delivers about %.4g ml and the vessel may be filled to %.4g ml; use a larger vessel", shot.Ml(), j.fill.Ml())
	}
	if shot*leastShots > j.fill {
		return fmt.Errorf("the vessel is too small: it would be full after %.0f shots of the shortest pulse (%.4g ml each), and at least %d are needed; use a larger vessel", math.Floor(float64(j.fill/shot)), shot.Ml(), leastShots)
	}
	if j.AtHand > 0 {
		if least := unit.Volume(float64(min(j.Slots, j.Number))) * j.vessel.TopMark; j.AtHand < least {
			return fmt.Errorf("%.3g l of fluid are not enough: one run can fill %d vessels with %.3g l together, beside what tank and lines hold", 1e-3*j.AtHand.Ml(), min(j.Slots, j.Number), 1e-3*least.Ml())
		}
	}
	return nil
}

const (
	leastLong  = 2.0 // ms of open time that a condition's longer pulse must have
	leastShots = 50  // of the shortest pulse in a full vessel
)

package plan

import (
	"fmt"
	"math"
	"slices"

	"injtab/fit/unit"
)

// setPressures settles at which pressures to measure: those given, or within the
// range the ends and rated pressure, or the middle where that is outside.
func (j *job) setPressures() error {
	given, lo, hi := len(j.Pressures) > 0, j.PressureRange[0], j.PressureRange[1]
	if err := oneOf("pressures", given, float64(lo), float64(hi)); err != nil {
		return err
	}
	switch {
	case given:
		j.pressures = sorted(j.Pressures)
	case j.Purpose == Match:
		j.pressures = []unit.Pressure{j.RatedPressure}
		if hi > 0 {
			j.pressures[0] = min(max(j.RatedPressure, lo), hi)
		}
	case hi > 0:
		j.pressures = j.spanPressures(lo, hi)
	default:
		j.pressures = []unit.Pressure{0.75 * j.RatedPressure, j.RatedPressure, 1.4 * j.RatedPressure}
		j.say("pressures_assumed", "the pressures that the bench can hold were not told: %.4g to %.4g kPa are assumed", j.pressures[0].KPa(), j.pressures[2].KPa())
	}
	if j.Purpose != Match && len(j.pressures) == 1 {
		j.say("one_pressure", "with one pressure nothing is learned of others: the tables will hold for %.4g kPa alone", j.pressures[0].KPa())
	}
	j.refP = nearestTo(j.pressures, j.RatedPressure)
	return nil
}

func (j *job) spanPressures(lo, hi unit.Pressure) []unit.Pressure {
	middle := unit.Pressure(math.Round((lo+hi).KPa()/20) * 10e3)
	if j.RatedPressure > lo*1.1 && j.RatedPressure < hi/1.1 {
		middle = j.RatedPressure
	}
	list := []unit.Pressure{lo}
	if middle > lo*1.1 && middle < hi/1.1 {
		list = append(list, middle)
	}
	if hi > lo*1.02 {
		list = append(list, hi)
	}
	return list
}

// setVoltages settles at which voltages to measure: those given, or within the
// range five that lie closer where it is low, for a coil's time is about straight
// over 1/V. Where injectors hardly open nothing is mapped.
func (j *job) setVoltages() error {
	given, lo, hi := len(j.Voltages) > 0, j.VoltageRange[0], j.VoltageRange[1]
	if err := oneOf("voltages", given, float64(lo), float64(hi)); err != nil {
		return err
	}
	switch {
	case given:
		j.voltages = sorted(j.Voltages)
	case j.Purpose == Match:
		j.voltages = []unit.Voltage{defaultVoltage}
		if hi > 0 {
			j.voltages[0] = min(max(defaultVoltage, lo), hi)
		}
	case hi > 0:
		j.voltages = spanVoltages(lo, hi)
	default:
		j.voltages = spanVoltages(9.5, 15)
		j.say("voltages_assumed", "the voltages that the bench can hold were not told: 9.5 to 15 V are assumed")
	}
	if j.Purpose != Match && len(j.voltages) == 1 {
		j.say("one_voltage", "with one voltage nothing is learned of others: the tables will hold for %.4g V alone", j.voltages[0].V())
	}
	if err := j.leaveClosed(); err != nil {
		return err
	}
	j.refV = nearestTo(j.voltages, defaultVoltage)
	return nil
}

const mappedVoltages = 5

func spanVoltages(lo, hi unit.Voltage) []unit.Voltage {
	var list []unit.Voltage
	for i := range mappedVoltages {
		f := float64(i) / (mappedVoltages - 1)
		v := unit.Voltage(1 / ((1-f)/float64(lo) + f/float64(hi)))
		if i > 0 && i < mappedVoltages-1 {
			v = unit.Voltage(math.Round(2*float64(v)) / 2)
		}
		if i == 0 || v > list[len(list)-1]+0.2 {
			list = append(list, v)
		}
	}
	if i := slices.Index(list, nearestTo(list, defaultVoltage)); lo < defaultVoltage && hi > defaultVoltage && i > 0 && i < len(list)-1 {
		list[i] = defaultVoltage // results are quoted there
	}
	return slices.Compact(list)
}

// openMargin is how far above the lowest opening voltage dead times can be
// measured: below it they move too fast with the supply (simulated injectors).
const openMargin = 1.15

// leaveClosed takes out the voltages at which the injectors are expected to open
// hardly or not at all.
func (j *job) leaveClosed() error {
	top := j.pressures[len(j.pressures)-1]
	least := openMargin * j.expect.OpensAt(j.RatedPressure, top)
	kept := slices.DeleteFunc(slices.Clone(j.voltages), func(v unit.Voltage) bool { return v < least })
	switch {
	case len(kept) == 0:
		return fmt.Errorf("at %.4g V injectors are not expected to open reliably under %.4g kPa: hold at least %.1f V", j.voltages[len(j.voltages)-1].V(), top.KPa(), least.V())
	case len(kept) < len(j.voltages):
		j.say("low_voltage", "below %.1f V injectors are not expected to open reliably under %.4g kPa: no dead time is mapped there", least.V(), top.KPa())
		if len(j.Voltages) == 0 {
			kept = spanVoltages(unit.Voltage(math.Ceil(2*least.V())/2), j.voltages[len(j.voltages)-1])
		}
	}
	j.voltages = kept
	return nil
}

func oneOf(what string, given bool, lo, hi float64) error {
	switch {
	case given && hi > 0:
		return fmt.Errorf("%s were given as a list and as a range: leave one of them out", what)
	case lo > 0 && hi <= 0 || hi > 0 && lo <= 0:
		return fmt.Errorf("the range of %s has one end: give the lowest and the highest that the bench can hold", what)
	case lo > hi:
		return fmt.Errorf("the range of %s runs from large to small: write the lowest first", what)
	}
	return nil
}

func sorted[Q ~float64](list []Q) []Q {
	out := slices.Clone(list)
	slices.Sort(out)
	return slices.Compact(out)
}

func nearestTo[Q ~float64](list []Q, x Q) Q {
	best := list[0]
	for _, y := range list {
		if math.Abs(float64(y-x)) < math.Abs(float64(best-x)) {
			best = y
		}
	}
	return best
}

package plan

import (
	"math"
	"strings"
	"testing"

	"injtab/fit/unit"
)

// Every slip has a sentence with what was read and what to do.
func TestBadInputsAreExplained(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*Inputs)
		want   string
	}{
		"no injector":        {func(in *Inputs) { in.Number = 0 }, "no injector to plan for"},
		"no slot":            {func(in *Inputs) { in.Slots = 0 }, "number of slots is missing"},
		"too many slots":     {func(in *Inputs) { in.Slots = 40 }, "number of slots of 40"},
		"negative number":    {func(in *Inputs) { in.Number = -3 }, "number of injectors of -3"},
		"too many injectors": {func(in *Inputs) { in.Number = 500 }, "number of injectors of 500"},
		"two of a name":      {func(in *Inputs) { in.Number, in.IDs = 0, []string{"A", "B", "A"} }, `two injectors are named "A"`},
		"no name":            {func(in *Inputs) { in.Number, in.IDs = 0, []string{"A", ""} }, "has no name"},
		"number and names":   {func(in *Inputs) { in.IDs = []string{"A"} }, "8 injectors were announced but 1 are named"},
		"unknown reference":  {func(in *Inputs) { in.Reference = "Z" }, `reference injector "Z"`},
		"unknown purpose":    {func(in *Inputs) { in.Purpose = "play" }, `purpose "play"`},
		"no vessel":          {func(in *Inputs) { in.Vessel = Vessel{} }, "capacity is missing"},
		"vessel and scale":   {func(in *Inputs) { in.Scale = Scale{Step: unit.Grams(1)} }, "a vessel and a scale"},
		"no beaker":          {func(in *Inputs) { in.Vessel, in.Scale = Vessel{}, Scale{Step: unit.Grams(1)} }, "beaker's capacity is missing"},
		"top mark too high":  {func(in *Inputs) { in.Vessel.TopMark = unit.Ml(120) }, "above the vessel's capacity"},
		"coarse vessel":      {func(in *Inputs) { in.Vessel.Division = unit.Ml(50) }, "too coarse"},
		"vessel of one shot": {func(in *Inputs) {
			in.Vessel, in.Flow = Vessel{Capacity: unit.Ml(1), Division: unit.Ml(0.001)}, unit.MlMin(9000)
		}, "vessel is t"},
		"short period":      {func(in *Inputs) { in.Period = unit.Ms(5) }, "period of 5 ms is too short"},
		"period in us":      {func(in *Inputs) { in.Period = unit.Ms(0.02) }, "check the number and its unit"},
		"period, frequency": {func(in *Inputs) { in.Period, in.Frequency = unit.Ms(20), 50 }, "period and frequency"},
		"pressure in psi":   {func(in *Inputs) { in.PressureRange = [2]unit.Pressure{unit.KPa(3), unit.KPa(5)} }, "a pressure of 3 kPa"},
		"range backwards":   {func(in *Inputs) { in.PressureRange = [2]unit.Pressure{unit.KPa(400), unit.KPa(200)} }, "write the lowest first"},
		"range of one end":  {func(in *Inputs) { in.VoltageRange[0] = 0 }, "has one end"},
		"list and range":    {func(in *Inputs) { in.Voltages = []unit.Voltage{12} }, "as a list and as a range"},
		"never opens":       {func(in *Inputs) { in.VoltageRange = [2]unit.Voltage{}; in.Voltages = []unit.Voltage{6} }, "not expected to open"},
		"little time":       {func(in *Inputs) { in.BenchTime = 20 * 60 }, "bench time of 20 min is too short"},
		"little fluid":      {func(in *Inputs) { in.AtHand = unit.Ml(200) }, "of fluid are not enough"},
		"not a number":      {func(in *Inputs) { in.Flow = unit.VolumeFlow(math.NaN()) }, "static flow of NaN"},
		"infinite":          {func(in *Inputs) { in.BenchTime = unit.Time(math.Inf(1)) }, "bench time of +Inf"},
		"target of nothing": {func(in *Inputs) { in.Target = 1e-9 }, "a target of 1e-07 %"},
	} {
		in := inputs()
		c.change(&in)
		_, err := Make(in)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want a sentence with %q", name, err, c.want)
		}
	}
}

// What had to be assumed is said.
func TestAssumptionsAreSaid(t *testing.T) {
	p := made(t, Inputs{Number: 4, Slots: 4, Vessel: Vessel{Capacity: unit.Ml(250)}, BenchTime: 2 * 3600})
	all := strings.Join(p.Warnings, "\n")
	for _, want := range []string{"static flow is not known", "dead time is not known", "pressures that the bench can hold", "voltages that the bench can hold"} {
		if !strings.Contains(all, want) {
			t.Errorf("nothing is said of %q in\n%s", want, all)
		}
	}
	for _, x := range p.Points {
		if x.Expected > 250*math.Sqrt(lowestGuess*highestGuess)/highestGuess+1e-6 {
			t.Errorf("%v ml expected, which the largest flow would let run over", x.Expected)
		}
	}
}

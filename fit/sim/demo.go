package sim

import (
	_ "embed"
	"fmt"
	"slices"

	"injtab/fit/unit"
)

//go:generate go run ./gen demo/bench.csv

//go:embed demo/bench.csv
var demoCSV []byte

// DemoCSV is the bench file of the demonstration, as Demo writes it: a harbour
// launch with a straight six of 3.7 l, 185 kW at 5200 rpm on petrol, fired
// 1-5-3-6-2-4, and eleven used injectors from the parts box of which six are to
// go in. At full power those six work at about three quarters duty.
func DemoCSV() []byte { return slices.Clone(demoCSV) }

// demoSeed is one whose seven sound injectors make a fair set of six.
const demoSeed = 27

// demoReference is the injector that takes part in every run of the demonstration.
const demoReference = "L4"

// Demo runs the session of the demonstration: a rail of six, the eleven injectors
// compared at one condition with the same one in every run, two of them mapped over
// voltages and pressures, static flow, a leak test, repeats, four bad injectors and
// one reading mistyped. Engine and injectors are invented.
func Demo() Session {
	s := demoPlan().measure(ByName("B"), demoSeed)
	s.mistype(slices.IndexFunc(s.Rows, func(r Row) bool { return r.Injector == "L8" && short(r.Point.Pulse.Ms()) == "4" }))
	s.write()
	return s
}

func demoPlan() Plan {
	b := GoodBench()
	b.Slots, b.Technique = 6, 0.003
	ids := make([]string, 11)
	for i := range ids {
		ids[i] = fmt.Sprintf("L%d", i+1)
	}
	all := func(points ...Point) Step { return Step{IDs: ids, Reference: demoReference, Points: points} }
	compared := demoPoints(13.5, 300, 1.7, 2, 2.4, 3, 4, 7, 11)
	return Plan{
		Title: "Harbour launch, eleven used injectors from the parts box",
		Remarks: []string{
			"Invented example: straight six 3.7 l, 185 kW at 5200 rpm, firing order 1-5-3-6-2-4.",
			"Six of these eleven are to go in; L4 ran in slot 1 every time to tie the runs together.",
		},
		Bench: b, IDs: ids, Timed: true,
		Troubles: map[string]Trouble{"L2": Erratic, "L5": Leaking, "L7": Dead, "L10": Outlier},
		Notes:    map[string]string{"L5": "drips", "L7": "no click"},
		Steps: []Step{
			all(demoHeld(0, 300, 120)),
			all(append(compared, demoHeld(demoPeriod, 300, 15))...),
			all(demoPoints(11, 300, 2.2, 3, 6)...),
			all(compared[2], compared[5]),
			{IDs: []string{demoReference, "L9"}, Points: demoMap()},
		},
	}
}

// demoPeriod is the time in ms from one pulse to the next.
const demoPeriod = 16

// demoMap is what two injectors are mapped at: pulses follow the dead time.
func demoMap() []Point {
	var points []Point
	for _, kPa := range []float64{220, 300, 400} {
		points = append(points, demoPoints(9.5, kPa, 1.9, 2.2, 2.7, 3.6, 6, 11)...)
		points = append(points, demoPoints(11, kPa, 1.6, 1.9, 2.4, 3.4, 6, 11)...)
		points = append(points, demoPoints(12.2, kPa, 1.4, 1.7, 2.2, 3.2, 6, 11)...)
		points = append(points, demoPoints(13.5, kPa, 1.3, 1.6, 2.1, 3, 6, 11)...)
		points = append(points, demoPoints(15, kPa, 1.1, 1.4, 1.9, 3, 6, 11)...)
		points = append(points, demoHeld(demoPeriod, kPa, 15))
	}
	return points
}

func demoPoints(volts, kPa float64, pulses ...float64) []Point {
	return Grid([]float64{volts}, []float64{kPa}, pulses, unit.Ms(demoPeriod))
}

// demoHeld is a timed run with the injector held open for the whole period, or
// with a pulse of 0 a leak test.
func demoHeld(pulse, kPa, seconds float64) Point {
	return Point{Pulse: unit.Ms(pulse), Period: unit.Ms(demoPeriod), Pressure: unit.KPa(kPa), Voltage: 13.5, Duration: unit.Time(seconds)}
}

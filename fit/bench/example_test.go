package bench_test

import (
	"fmt"
	"strings"

	"injtab/fit/bench"
)

func ExampleRead() {
	const file = `# pressure_psi = 43.5
# voltage_v = 13.5
pulse_ms,frequency_hz,duration_s,A,B
2.5,50,60,41.2,
4,50,40,45.1,44.8
`
	s, err := bench.Read(strings.NewReader(file), "bench.csv")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range s.Readings.All() {
		fmt.Printf("%s: injector %s, %.4g ms, %.0f shots, %.1f ml\n", s.At(r), r.Injector, r.Pulse.Ms(), r.Shots, r.Volume.Ml())
	}
	fmt.Println(s.Missing, "not measured")
	// Output:
	// bench.csv, line 4, column A: injector A, 2.5 ms, 3000 shots, 41.2 ml
	// bench.csv, line 5, column A: injector A, 4 ms, 2000 shots, 45.1 ml
	// bench.csv, line 5, column B: injector B, 4 ms, 2000 shots, 44.8 ml
	// 1 not measured
}

func ExampleRead_mistake() {
	const file = `injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v
7,2.5,10,3000,about 60,300,13.5
8,12,10,3000,61.5,300,13.5
`
	_, err := bench.Read(strings.NewReader(file), "bench.csv")
	fmt.Println(err)
	// Output:
	// bench.csv, line 2, column volume_ml: "about 60" is not a number: write the number alone (the unit stands in the header), or leave the cell empty where nothing was measured
	// bench.csv, line 3, column pulse_ms: the pulse of 12 ms is longer than the period of 10 ms: check both and their units (ms or µs); equal means held open
}

func ExampleCheck() {
	const file = `# pressure_kpa = 300
# voltage_v = 13.5
# shots = 2000
pulse_ms,period_ms,1,2,3,4,5
1.5,20,10.5,10.4,10.7,10.5,8.4
2,20,18,17.8,18.2,18.1,14.4
3,20,33,32.6,33.4,33.2,26.4
4,20,48,47.4,84.6,48.3,38.4
6,20,78,77,79,78.5,62.4
`
	s, err := bench.Read(strings.NewReader(file), "bench.csv")
	if err != nil {
		fmt.Println(err)
		return
	}
	c, notes, err := bench.Check(s)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, n := range notes {
		fmt.Println(n)
	}
	for _, i := range c.Injectors() {
		fmt.Println(i.ID, i.Verdict)
		for _, reason := range i.Reasons {
			fmt.Println(" ", reason)
		}
	}
	// Output:
	// bench.csv, line 8, column 3: injector 3 at 4 ms 300 kPa 13.5 V: 84.6 ml was read, about 48.6 ml would fit: a digit may be wrong, 84.6 for 48.6; the reading is left out
	// 1 sound
	// 2 sound
	// 3 sound
	// 4 sound
	// 5 outlier
	//   flows 20.0 % less than its family; up to 10 % would be its spread
}

package match_test

import (
	"context"
	"fmt"
	"strings"

	"injtab/fit/bench"
	"injtab/tables/match"
)

// Four injectors at two pulses: the best three, and where they sit.
func ExampleChoose() {
	sheet, err := bench.Read(strings.NewReader(`# pressure_kpa = 300
# voltage_v = 13.5
# division_ml = 0.1
injector,pulse_ms,period_ms,shots,volume_ml
1,2,20,1000,6.00
1,10,20,1000,46.0
2,2,20,1000,6.06
2,10,20,1000,46.4
3,2,20,1000,6.03
3,10,20,1000,46.4
4,2,20,1000,6.03
4,10,20,1000,50.6
`), "bench.csv")
	if err != nil {
		fmt.Println(err)
		return
	}
	checked, _, err := bench.Check(sheet)
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := match.Choose(context.Background(), checked, match.Options{Of: 3, FiringOrder: []int{1, 3, 2}})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range r.Sets {
		fmt.Printf("%v spread %.2f %%, %s\n", s.Injectors, s.SpreadPct, s.Proof)
		for _, seat := range s.Seats {
			fmt.Printf("cylinder %d: injector %s\n", seat.Cylinder, seat.Injector)
		}
	}
	for _, l := range r.LeftOut {
		fmt.Printf("left out: %s, %s\n", l.Injector, l.Reason)
	}
	// Output:
	// [1 2 3] spread 1.00 %, optimal
	// cylinder 1: injector 1
	// cylinder 2: injector 2
	// cylinder 3: injector 3
	// left out: 4, usable; the best set with it spreads 9.05 %, the best of all 1.00 %
}

package match

import (
	"context"
	"math"
	"strings"
	"testing"

	"injtab/fit/unit"
)

// TestWhatCannotBeHad: each impossible wish gets one sentence that names it.
func TestWhatCannotBeHad(t *testing.T) {
	c := checked(t, append(small(), "5,2,20,1000,0", "5,10,20,1000,0"))
	four := []int{1, 2, 3, 4}
	for _, test := range []struct {
		name string
		o    Options
		want string
	}{
		{"no size", Options{}, "how many injectors make a set?"},
		{"one", Options{Of: 1}, "--of 1: a set has two injectors at least"},
		{"negative", Options{Of: -3}, "--of -3: a set has two injectors at least"},
		{"more than sound", Options{Of: 5}, "1 set of 5 needs 5 injectors, but only 4 of 5 can be used"},
		{"more than there are", Options{Of: math.MaxInt, Sets: 2}, "is more than bench.csv has: it has 5 injectors"},
		{"more sets than injectors", Options{Of: 2, Sets: math.MaxInt}, "--sets 9223372036854775807 is more than bench.csv has"},
		{"more spares than injectors", Options{Of: 2, Spares: math.MaxInt}, "--spares 9223372036854775807 is more than bench.csv has"},
		{"sets times size", Options{Of: 3, Sets: 2}, "2 sets of 3 need 6 injectors, but only 4 of 5 can be used"},
		{"spares", Options{Of: 3, Spares: 2}, "1 set of 3 with 2 spares each needs 5 injectors, but only 4 of 5 can be used"},
		{"negative sets", Options{Of: 2, Sets: -1}, "can't be negative"},
		{"negative spares", Options{Of: 2, Spares: -1}, "can't be negative"},
		{"negative tolerance", Options{Of: 2, Within: -0.02}, "--within can't be negative"},
		{"unknown keep", Options{Of: 2, Keep: []string{"77"}}, `--keep: there is no injector "77" in bench.csv: it has 1, 2, 3, 4 and 5`},
		{"unknown without", Options{Of: 2, Without: []string{"x"}}, `--without: there is no injector "x"`},
		{"unknown failed", Options{Keep: []string{"1", "2"}, Replace: "9"}, `--replace: there is no injector "9"`},
		{"keep and without", Options{Of: 2, Keep: []string{"1"}, Without: []string{"1"}}, "injector 1 is in both --keep and --without"},
		{"keep too many", Options{Of: 2, Keep: []string{"1", "2", "3"}}, "--keep names 3 injectors, but 1 set of 2 can hold 2"},
		{"keep too many for the first", Options{Of: 2, Sets: 2, Aim: BestFirst, Keep: []string{"1", "2", "3"}}, "--keep names 3 injectors for the first set, which has 2"},
		{"keep more than sets hold", Options{Of: 3, Aim: MostSets, Keep: []string{"1", "2", "3", "4"}}, "--keep names 4 injectors, but 4 that can be used make 1 set of 3"},
		{"keep more than all sets hold", Options{Of: 3, Aim: MostSets, Keep: []string{"1", "2", "3", "4"}}, "--keep names 4 injectors, but 4 that can be used make 1 set of 3: keep fewer"},
		{"keep dead", Options{Of: 2, Keep: []string{"5"}}, "--keep 5: there is no point at which all that are kept delivered something"},
		{"replace alone", Options{Of: 2, Replace: "1"}, "--replace 1 needs the other injectors of its set"},
		{"replace in another size", Options{Of: 4, Keep: []string{"1", "2"}, Replace: "1"}, "--replace 1: --keep names 1 injector of the set"},
		{"unknown point", Options{Of: 2, Points: []Where{{Pulse: ms(3)}}}, "--points: nothing was measured at 3ms: there is 2 ms 300 kPa 13.5 V and 10 ms 300 kPa 13.5 V"},
		{"unknown weight", Options{Of: 2, Weights: []Weight{{Where{Pulse: ms(3)}, 2}}}, "--weights: nothing was measured at 3ms"},
		{"no weight left", Options{Of: 2, Weights: []Weight{{Where{}, 0}}}, "there is no point to compare the injectors at"},
		{"cylinders and size", Options{Of: 3, Cylinders: four}, "there are 4 cylinders (1, 2, 3 and 4), but a set has 3 injectors"},
		{"cylinder twice", Options{Cylinders: []int{1, 2, 2}}, "--cylinders names cylinder 2 twice"},
		{"fires twice", Options{Cylinders: four, FiringOrder: []int{1, 3, 3, 2}}, "--firing-order names cylinder 3 twice"},
		{"fires twice, cylinders not given", Options{FiringOrder: []int{1, 3, 3, 2}}, "names cylinder 3 twice"},
		{"never fires", Options{Cylinders: four, FiringOrder: []int{1, 3, 2}}, "--firing-order leaves out cylinder 4"},
		{"unknown fires", Options{Cylinders: four, FiringOrder: []int{1, 3, 4, 5}}, "--firing-order names cylinder 5, but the cylinders are 1, 2, 3 and 4"},
		{"in two banks", Options{Cylinders: four, Banks: [][]int{{1, 2}, {2, 3, 4}}}, "--banks names cylinder 2 twice"},
		{"in no bank", Options{Cylinders: four, Banks: [][]int{{1, 2}, {3}}}, "--banks leaves out cylinder 4"},
		{"empty bank", Options{Cylinders: four, Banks: [][]int{{1, 2, 3, 4}, {}}}, "--banks: bank 2 has no cylinder"},
		{"bias alone", Options{Of: 4, CylinderBias: map[int]unit.Ratio{1: 0.02}}, "--cylinder-bias needs --banks or --firing-order"},
		{"bias and cylinders", Options{Cylinders: four, CylinderBias: map[int]unit.Ratio{1: 0.02}}, "--cylinder-bias needs --banks or --firing-order"},
		{"unknown bias", Options{FiringOrder: four, CylinderBias: map[int]unit.Ratio{9: 0.02}}, "--cylinder-bias names cylinder 9"},
		{"wild bias", Options{FiringOrder: four, CylinderBias: map[int]unit.Ratio{1: 3}}, "expected how much more fuel"},
	} {
		t.Run(test.name, func(t *testing.T) {
			r, err := Choose(context.Background(), c, test.o)
			if err == nil || !strings.Contains(err.Error(), test.want) {
				t.Fatalf("error %v, want %q", err, test.want)
			}
			if strings.Contains(err.Error(), "\n") || len(r.Sets) != 0 {
				t.Fatalf("not one sentence, or sets beside it: %v", err)
			}
		})
	}
}

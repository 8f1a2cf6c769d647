package sim

import (
	"strconv"

	"injtab/fit/unit"
)

// Mapped is a session that maps four injectors alike: four voltages, three
// pressures, nine pulses, 1 ml divisions.
func Mapped(d Design, seed uint64) Session { return MappedPlan(4).Run(d, seed) }

// MappedPlan is the plan of Mapped for n injectors.
func MappedPlan(n int) Plan {
	ids := numbered(n)
	return Plan{
		Title: "mapped session", Bench: GoodBench(), IDs: ids,
		Steps: []Step{{IDs: ids, Points: mapPoints()}},
	}
}

func mapPoints() []Point {
	return Grid([]float64{10, 11.5, 13, 15}, []float64{200, 300, 450},
		[]float64{1.2, 1.4, 1.6, 2, 2.5, 3.5, 5, 8, 12}, unit.Ms(20))
}

// Sparse is a session that maps one injector of eight as Mapped does and takes all
// eight through six pulses at one condition, the mapped one in every run.
func Sparse(d Design, seed uint64) Session { return SparsePlan().Run(d, seed) }

// SparsePlan is the plan of Sparse.
func SparsePlan() Plan {
	ids := numbered(8)
	six := Grid([]float64{13.5}, []float64{300}, []float64{1.5, 2, 2.5, 4, 6, 10}, unit.Ms(20))
	return Plan{
		Title: "one mapped, seven compared", Bench: GoodBench(), IDs: ids,
		Steps: []Step{{IDs: ids[:1], Points: mapPoints()}, {IDs: ids, Reference: ids[0], Points: six}},
	}
}

// Hobby is a session of twenty used injectors, a quarter of them junk, on a
// home-made bench: one pressure, one voltage, six pulses, 2 ml divisions, written
// as a column for each injector.
func Hobby(d Design, seed uint64) Session { return HobbyPlan().Run(d, seed) }

// HobbyPlan is the plan of Hobby.
func HobbyPlan() Plan {
	ids := numbered(20)
	six := Grid([]float64{13.5}, []float64{300}, []float64{1.5, 2, 3, 4.5, 7, 11}, unit.Ms(20))
	return Plan{
		Title: "box of used injectors", Bench: HobbyBench(), IDs: ids, Junk: 5, Wide: true,
		Steps: []Step{{IDs: ids, Points: six}},
	}
}

func numbered(n int) []string {
	ids := make([]string, n)
	for i := range ids {
		ids[i] = strconv.Itoa(i + 1)
	}
	return ids
}

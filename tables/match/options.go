package match

import (
	"time"

	"injtab/fit/unit"
)

// Aim is what several sets are chosen for.
type Aim uint8

const (
	WorstSet  Aim = iota // make the worst of the sets as good as possible
	MostSets             // make as many sets as there can be, within Options.Within
	BestFirst            // make the best set, then the best of the injectors left, …
)

func (a Aim) String() string {
	return [...]string{"worst set as good as possible", "most sets within a tolerance", "best set first"}[a]
}

// Options say which sets are wanted. The zero value of a field asks for nothing.
type Options struct {
	Of     int        // injectors in a set; 0: as many as there are cylinders
	Sets   int        // how many sets; 0: one. Not counted when Aim is MostSets
	Aim    Aim        // of several sets
	Within unit.Ratio // tolerance on a set's worst spread, 0.02 is 2 %; 0: none

	Points  []Where  // compare at these points only; none: at all
	Weights []Weight // how much points count; not named: 1

	Keep    []string // injectors that must be in a set, whatever their verdict
	Without []string // injectors that must not
	Replace string   // the injector of the set Keep that failed: choose one in its place
	Spares  int      // for each set, how many injectors that fit it best

	Cylinders    []int              // the cylinders' numbers; none: those of Banks or FiringOrder
	Banks        [][]int            // the cylinders of each bank; none: one bank
	FiringOrder  []int              // the cylinders as they fire
	CylinderBias map[int]unit.Ratio // how much more than the mean a cylinder needs

	TimeLimit time.Duration // 0: stop after a fixed amount of work, a few seconds' worth
}

// defaultWork is how much work is done without a time limit, counted so that the
// same input gives the same answer on every machine; about three seconds.
const defaultWork = 1_500_000_000

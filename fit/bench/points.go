package bench

import (
	"cmp"
	"math"
	"slices"

	"injtab/fit/unit"
)

// How near two conditions must be to count as one (the contract of the program).
const (
	samePressure = 0.01 // relative
	sameVoltage  = 0.1  // V
	sameTime     = 1e-9 // s: pulse and period are equal but for rounding
)

// findPoints sorts the readings into points, and tells for each reading which one.
// Readings of one pulse and period are parted at the widest gap in pressure until
// no two of a group differ by more than 1 %, then by voltage until no two differ by
// more than 0.1 V, so that the order of the rows changes nothing. The pressure and
// the voltage of a point are the medians of its readings.
func findPoints(readings []Reading) (points []Point, of []int) {
	type times struct{ pulse, period int64 }
	groups := map[times][]int{}
	for i, r := range readings {
		key := times{nano(r.Pulse), nano(r.Period)}
		if r.Leak() {
			key.period = 0 // leak tests compare by the minute, however long they ran
		}
		groups[key] = append(groups[key], i)
	}
	var members [][]int
	for _, g := range groups {
		for _, byPressure := range part(g, func(i int) float64 { return math.Log(float64(readings[i].Pressure)) }, math.Log1p(samePressure)) {
			if readings[g[0]].Leak() { // the supply does not matter without pulses
				members = append(members, byPressure)
				continue
			}
			members = append(members, part(byPressure, func(i int) float64 { return readings[i].Voltage.V() }, sameVoltage)...)
		}
	}
	type group struct {
		at      Point
		members []int
	}
	sorted := make([]group, len(members))
	for g, m := range members {
		sorted[g] = group{newPoint(readings, m), m}
	}
	slices.SortFunc(sorted, func(a, b group) int { return comparePoints(a.at, b.at) })
	of = make([]int, len(readings))
	for p, g := range sorted {
		points = append(points, g.at)
		for _, i := range g.members {
			of[i] = p
		}
	}
	return points, of
}

func nano(t unit.Time) int64 { return int64(math.Round(float64(t) / sameTime)) }

// part cuts a group at its widest gap until each part spans at most limit.
func part(group []int, at func(int) float64, limit float64) [][]int {
	sorted := slices.Clone(group)
	slices.SortFunc(sorted, func(i, j int) int { return cmp.Or(cmp.Compare(at(i), at(j)), cmp.Compare(i, j)) })
	return partSorted(sorted, at, limit*(1+1e-9)+1e-12)
}

func partSorted(sorted []int, at func(int) float64, limit float64) [][]int {
	if at(sorted[len(sorted)-1])-at(sorted[0]) <= limit {
		return [][]int{sorted}
	}
	widest, cut := 0.0, 1
	for k := 1; k < len(sorted); k++ {
		if gap := at(sorted[k]) - at(sorted[k-1]); gap > widest*(1+1e-9) { // rounding does not choose among equal gaps
			widest, cut = gap, k
		}
	}
	return append(partSorted(sorted[:cut], at, limit), partSorted(sorted[cut:], at, limit)...)
}

func newPoint(readings []Reading, members []int) Point {
	first := readings[members[0]]
	values := make([]float64, len(members))
	get := func(q func(Reading) float64) float64 {
		for k, i := range members {
			values[k] = q(readings[i])
		}
		if slices.Min(values) == slices.Max(values) { // as it mostly is
			return values[0]
		}
		return median(values)
	}
	return Point{
		Pulse:    first.Pulse,
		Period:   unit.Time(get(func(r Reading) float64 { return float64(leakPeriod(r)) })),
		Pressure: unit.Pressure(get(func(r Reading) float64 { return float64(r.Pressure) })),
		Voltage:  unit.Voltage(get(func(r Reading) float64 { return float64(r.Voltage) })),
		Static:   first.Static(),
		Leak:     first.Leak(),
	}
}

// leakPeriod is the whole run of a leak test, which has no pulses to time.
func leakPeriod(r Reading) unit.Time {
	if r.Leak() {
		return r.Duration()
	}
	return r.Period
}

// comparePoints orders by voltage, pressure, pulse, period; leak tests last.
func comparePoints(a, b Point) int {
	last := func(p Point) int {
		if p.Leak {
			return 1
		}
		return 0
	}
	return cmp.Or(cmp.Compare(last(a), last(b)), cmp.Compare(a.Voltage, b.Voltage), cmp.Compare(a.Pressure, b.Pressure),
		cmp.Compare(a.Pulse, b.Pulse), cmp.Compare(a.Period, b.Period))
}

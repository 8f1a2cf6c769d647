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
func findPoints(readings []Reading) (points []Point, of []int32) {
	var members [][]int32
	for _, g := range byTimes(readings) {
		for _, byPressure := range part(g, func(i int32) float64 { return float64(readings[i].Pressure) }, math.Log, math.Log1p(samePressure)) {
			if readings[g[0]].Leak() { // the supply does not matter without pulses
				members = append(members, byPressure)
				continue
			}
			members = append(members, part(byPressure, func(i int32) float64 { return readings[i].Voltage.V() }, linear, sameVoltage)...)
		}
	}
	type group struct {
		at      Point
		members []int32
	}
	sorted := make([]group, len(members))
	for g, m := range members {
		sorted[g] = group{newPoint(readings, m), m}
	}
	slices.SortFunc(sorted, func(a, b group) int { return comparePoints(a.at, b.at) })
	of = make([]int32, len(readings))
	for p, g := range sorted {
		points = append(points, g.at)
		for _, i := range g.members {
			of[i] = int32(p)
		}
	}
	return points, of
}

// byTimes groups readings of one pulse and period.
func byTimes(readings []Reading) [][]int32 {
	type times struct{ pulse, period int64 }
	at := map[times]int32{}
	groupOf := make([]int32, len(readings))
	last, group := times{}, int32(-1)
	for i := range readings {
		r := &readings[i]
		key := times{nano(r.Pulse), nano(r.Period)}
		if r.Leak() {
			key.period = 0 // leak tests compare by the minute, however long they ran
		}
		if key != last || group < 0 { // readings of one run follow each other
			known := false
			if group, known = at[key]; !known {
				group = int32(len(at))
				at[key] = group
			}
			last = key
		}
		groupOf[i] = group
	}
	return groups(groupOf, len(at))
}

// groups lists indexes by their key below n, none of them empty.
func groups(keys []int32, n int) [][]int32 {
	sorted := sortBy(keys, n, nil)
	var list [][]int32
	start := 0
	for j := 1; j <= len(sorted); j++ {
		if j == len(sorted) || keys[sorted[j]] != keys[sorted[start]] {
			list = append(list, sorted[start:j:j])
			start = j
		}
	}
	return list
}

func nano(t unit.Time) int64 { return int64(math.Round(float64(t) / sameTime)) }

func linear(x float64) float64 { return x }

// part cuts a group at its widest gap on a scale until each part spans at most limit.
func part(group []int32, at func(int32) float64, scale func(float64) float64, limit float64) [][]int32 {
	var values []float64
	for j, i := range group {
		if v := at(i); j == 0 || v < values[len(values)-1] || v > values[len(values)-1] { // many repeat the one before
			values = append(values, v)
		}
	}
	values = distinct(values)
	scaled := make([]float64, len(values))
	for j, v := range values {
		scaled[j] = scale(v)
	}
	starts := splitAtGaps(scaled, limit)
	if len(starts) == 1 {
		return [][]int32{group}
	}
	least := make([]float64, len(starts)) // of each part
	for n, j := range starts {
		least[n] = values[j]
	}
	partOf := make([]int32, len(group))
	for j, i := range group {
		n, found := slices.BinarySearch(least, at(i))
		if !found {
			n--
		}
		partOf[j] = int32(n)
	}
	parts := groups(partOf, len(starts))
	for _, p := range parts {
		for j := range p {
			p[j] = group[p[j]]
		}
	}
	return parts
}

func newPoint(readings []Reading, members []int32) Point {
	first := &readings[members[0]]
	for _, i := range members {
		if r := &readings[i]; r.Pulse < first.Pulse { // they are equal but for rounding
			first = r
		}
	}
	values := make([]float64, len(members))
	get := func(q func(*Reading) float64) float64 {
		for k, i := range members {
			values[k] = q(&readings[i])
		}
		return median(values)
	}
	return Point{
		Pulse:    first.Pulse,
		Period:   unit.Time(get(func(r *Reading) float64 { return float64(leakPeriod(r)) })),
		Pressure: unit.Pressure(get(func(r *Reading) float64 { return float64(r.Pressure) })),
		Voltage:  unit.Voltage(get(func(r *Reading) float64 { return float64(r.Voltage) })),
		Static:   first.Static(),
		Leak:     first.Leak(),
	}
}

// leakPeriod is the whole run of a leak test, which has no pulses to time.
func leakPeriod(r *Reading) unit.Time {
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

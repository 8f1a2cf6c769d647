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

// A stretch is readings under the very same condition. Points are found of stretches, of
// which there are fewer than readings.
type stretch struct {
	Point
	readings int32
}

// point is the condition of readings as it was written.
func (c *common) point() Point {
	return Point{c.pulse, leakPeriod(c), c.pressure, c.voltage, c.static(), c.leak()}
}

// bits tell points apart, in half of the time that points themselves take to be found.
func (c *common) bits() [4]uint64 {
	return [4]uint64{math.Float64bits(float64(c.pulse)), math.Float64bits(float64(leakPeriod(c))), math.Float64bits(float64(c.pressure)), math.Float64bits(float64(c.voltage))}
}

// stretches are those of a sheet, and by what readings have in common which one.
func (c *Checked) stretches() (list []stretch, of []int32) {
	commons := c.sheet.Readings.commons
	of = make([]int32, len(commons))
	known := shelf[[4]uint64]{most: 1 << 13} // settings are fewer than runs
	for j := range commons {
		n := c.readingsOf[j]
		if n == 0 {
			of[j] = none
			continue
		}
		x := &commons[j]
		of[j] = known.place(x.bits(), j, len(commons))
		if int(of[j]) == len(list) {
			list = append(room(list, j, len(commons)), stretch{Point: x.point()})
		}
		list[of[j]].readings += n
	}
	return list, of
}

// room gives a list that was filled from the first k of n readings the room that the rest
// makes likely, so that growing it leaves little behind.
func room[T any](list []T, k, n int) []T {
	if len(list) < cap(list) {
		return list
	}
	likely := len(list) * (n - k) / max(1, k)
	return slices.Grow(list, min(likely, 4*len(list))+len(list)/8+16)
}

// findPoints sorts the readings into points, and tells for what readings have in common
// which one.
// Readings of one pulse and period are parted at the widest gap in pressure until
// no two of a group differ by more than 1 %, then by voltage until no two differ by
// more than 0.1 V, so that the order of the rows changes nothing. The pressure and
// the voltage of a point are the medians of its readings.
func (c *Checked) findPoints() {
	all, stretchOf := c.stretches()
	var members [][]int32
	for _, g := range byTimes(all) {
		for _, byPressure := range part(g, func(i int32) float64 { return float64(all[i].Pressure) }, math.Log, math.Log1p(samePressure)) {
			if all[g[0]].Leak { // the supply does not matter without pulses
				members = append(members, byPressure)
				continue
			}
			members = append(members, part(byPressure, func(i int32) float64 { return all[i].Voltage.V() }, linear, sameVoltage)...)
		}
	}
	type group struct {
		at      Point
		members []int32
	}
	sorted := make([]group, len(members))
	for g, m := range members {
		sorted[g] = group{newPoint(all, m), m}
	}
	slices.SortFunc(sorted, func(a, b group) int { return comparePoints(a.at, b.at) })
	point := make([]int32, len(all)) // by stretch
	for p, g := range sorted {
		c.points = append(c.points, g.at)
		for _, i := range g.members {
			point[i] = int32(p)
		}
	}
	c.pointOf = stretchOf
	for j, i := range stretchOf {
		if i != none {
			c.pointOf[j] = point[i]
		}
	}
}

// times are a pulse and a period, ns.
type times struct{ pulse, period int64 }

func timesOf(p Point) times {
	if p.Leak {
		return times{} // leak tests compare by the minute, however long they ran
	}
	return times{nano(p.Pulse), nano(p.Period)}
}

// byTimes groups stretches of one pulse and period.
func byTimes(all []stretch) [][]int32 {
	at := map[times]int32{}
	groupOf := make([]int32, len(all))
	for i := range all {
		key := timesOf(all[i].Point)
		group, known := at[key]
		if !known {
			group = int32(len(at))
			at[key] = group
		}
		groupOf[i] = group
	}
	return groups(groupOf, len(at))
}

// groups lists indexes by their key below n, none of them empty.
func groups(keys []int32, n int) [][]int32 {
	sorted := sortBy(nil, n, keys)
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
	values := make([]float64, 0, len(group)/4)
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

func newPoint(all []stretch, members []int32) Point {
	point := all[members[0]].Point
	for _, i := range members {
		if all[i].Pulse < point.Pulse { // they are equal but for rounding
			point = all[i].Point
		}
	}
	middle := func(q func(Point) float64) float64 {
		return sharedMedian(len(members), func(j int) (int32, float64) {
			x := &all[members[j]]
			return x.readings, q(x.Point)
		})
	}
	point.Period = unit.Time(middle(func(p Point) float64 { return float64(p.Period) }))
	point.Pressure = unit.Pressure(middle(func(p Point) float64 { return float64(p.Pressure) }))
	point.Voltage = unit.Voltage(middle(func(p Point) float64 { return float64(p.Voltage) }))
	return point
}

// sharedMedian is the median over readings of what n groups of them have in common; share
// tells how many a group has, and what. It is 0 of none. Values are counted, because they are
// few beside groups and readings: those of a million would take 8 MB. Their bits are found in
// half of the time that they themselves take.
func sharedMedian(n int, share func(j int) (readings int32, value float64)) float64 {
	all, count := 0, map[uint64]int{}
	for j := range n {
		if readings, value := share(j); readings > 0 {
			all += int(readings)
			count[math.Float64bits(value)] += int(readings)
		}
	}
	values := make([]float64, 0, len(count))
	for bits := range count {
		values = append(values, math.Float64frombits(bits))
	}
	slices.Sort(values)
	nth := func(k int) float64 {
		for _, v := range values {
			if k -= count[math.Float64bits(v)]; k < 0 {
				return v
			}
		}
		return 0
	}
	upper := nth(all / 2)
	return upper + (nth((all-1)/2)-upper)/2
}

// leakPeriod is the whole run of a leak test, which has no pulses to time.
func leakPeriod(c *common) unit.Time {
	if c.leak() {
		return c.duration()
	}
	return c.period
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

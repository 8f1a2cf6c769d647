package bench

import (
	"cmp"
	"math"
	"slices"

	"injtab/fit/internal/lsq"
)

// gather takes the middle one of the readings of each pair that are not wrong, m³. Those
// of injectors that were not changed are as before.
func (f *family) gather(before *family, changed []bool) {
	c := f.c
	f.middle = make([]float64, c.pairs.count())
	lsq.Share(len(f.middle), leastPairs, func(first, end int) {
		var repeats []float64
		for n := first; n < end; n++ {
			x := c.pairs.list[n]
			if before != nil && !changed[x.injector] {
				f.middle[n] = before.middle[n]
				continue
			}
			f.middle[n] = -1
			if c.points[x.point].Leak {
				continue
			}
			repeats = c.repeats(int32(n), repeats[:0])
			if len(repeats) > 0 {
				f.middle[n] = median(repeats)
			}
		}
	})
	f.y = slices.Clone(f.middle)
}

// repeats appends what the readings of a pair show that are not wrong, m³ a shot.
func (c *Checked) repeats(n int32, all []float64) []float64 {
	for j, end := c.pairs.span(n); j < end; j++ {
		if c.wrong[c.pairs.order[j]] == fine {
			all = append(all, c.shown[j])
		}
	}
	return all
}

// findConditions gathers the points of one voltage and pressure.
func (f *family) findConditions() {
	f.cond = make([]int, len(f.c.points))
	for p, pt := range f.c.points {
		f.cond[p] = -1
		if pt.Leak || pt.Static {
			continue
		}
		j := slices.IndexFunc(f.conds, func(cd condition) bool {
			return math.Abs(math.Log(cd.pressure/float64(pt.Pressure))) <= samePressure && math.Abs(cd.voltage-pt.Voltage.V()) <= sameVoltage
		})
		if j < 0 {
			j = len(f.conds)
			f.conds = append(f.conds, condition{pressure: float64(pt.Pressure), voltage: pt.Voltage.V()})
		}
		f.cond[p] = j
		f.conds[j].points = append(f.conds[j].points, p)
	}
	for _, cd := range f.conds {
		slices.SortStableFunc(cd.points, func(a, b int) int { return cmp.Compare(f.c.points[a].Pulse, f.c.points[b].Pulse) })
	}
}

// rank sorts the pairs of each injector by condition and pulse.
func (f *family) rank() {
	c := f.c
	f.ranked, f.rankedTo = make([]int32, c.pairs.count()), slices.Clone(c.pairs.from[:len(c.injectors)])
	for _, cd := range f.conds {
		for _, p := range cd.points {
			for _, n := range c.pairs.at[p] {
				i := c.pairs.list[n].injector
				f.ranked[f.rankedTo[i]] = n
				f.rankedTo[i]++
			}
		}
	}
}

// ofConditions are the pairs of an injector by condition and pulse, those held open and
// leak tests left out.
func (f *family) ofConditions(i int) []int32 {
	return f.ranked[f.c.pairs.from[i]:f.rankedTo[i]]
}

// condOf is the condition of a pair.
func (f *family) condOf(n int32) int { return f.cond[f.c.pairs.list[n].point] }

// under are the pairs of an injector under one condition, by pulse.
func (f *family) under(i, j int) []int32 {
	all := f.ofConditions(i)
	first := slices.IndexFunc(all, func(n int32) bool { return f.condOf(n) == j })
	if first < 0 {
		return nil
	}
	end := first
	for end < len(all) && f.condOf(all[end]) == j {
		end++
	}
	return all[first:end]
}

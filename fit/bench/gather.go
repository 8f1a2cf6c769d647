package bench

import (
	"cmp"
	"math"
	"slices"
)

// gather takes the readings that are not wrong, and the middle one of repeats, m³.
func (f *family) gather() {
	c := f.c
	f.y, f.middle, f.repeats = make([][]float64, len(c.injectors)), make([][]int, len(c.injectors)), make([][][]float64, len(c.injectors))
	for i := range f.y {
		f.y[i], f.middle[i], f.repeats[i] = make([]float64, len(c.points)), make([]int, len(c.points)), make([][]float64, len(c.points))
		for p := range f.y[i] {
			f.y[i][p], f.middle[i][p] = -1, -1
		}
	}
	for k := range c.sheet.Readings {
		i, p := c.injectorOf[k], c.pointOf[k]
		if c.points[p].Leak {
			continue
		}
		f.middle[i][p] = k
		if c.wrong[k] == "" {
			f.repeats[i][p] = append(f.repeats[i][p], c.perShot(k))
		}
	}
	for i := range f.repeats {
		for p, repeats := range f.repeats[i] {
			if len(repeats) > 0 {
				f.y[i][p] = median(repeats)
			}
		}
	}
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

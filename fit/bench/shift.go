package bench

import (
	"math"
	"slices"
)

// How near and how far a reading has to be to belong one row further.
const (
	shiftRun  = 3    // readings in a row
	shiftFar  = 0.2  // from its own place, natural logarithm
	shiftNear = 0.12 // from the next, which the spread of a family keeps within
)

// shifts finds readings of an injector that slipped by one row: three or more in a
// row that are far from what the family delivers at their own points and near what
// it delivers at the next ones.
func (f *family) shifts() (all []int) {
	far := f.farReadings()
	for _, list := range f.readingsOf(far) {
		for _, step := range []int{1, -1} {
			run := 0
			for k := range len(list) + 1 {
				if k < len(list) && f.slipped(far, list, k, step) {
					run++
					continue
				}
				if run >= shiftRun {
					all = append(all, list[k-run:k]...)
				}
				run = 0
			}
		}
	}
	return all
}

// farReadings marks the readings that are far from what the family delivers.
func (f *family) farReadings() []bool {
	far := make([]bool, len(f.c.wrong))
	times := math.Exp(shiftFar)
	for n, x := range f.c.extremes {
		own := f.middleAt(int(f.c.pairs.list[n].point))
		if own <= 0 || x.least >= own/times && x.most <= own*times {
			continue
		}
		for j, end := f.c.pairs.span(int32(n)); j < end; j++ {
			read := f.c.shown[j]
			far[f.c.pairs.order[j]] = read > 0 && (read < own/times || read > own*times)
		}
	}
	return far
}

// readingsOf lists the readings, in the order of the sheet, of each injector that has
// enough marked ones.
func (f *family) readingsOf(marked []bool) (lists [][]int) {
	count := make([]int, len(f.c.injectors))
	for k, yes := range marked {
		if yes {
			count[f.c.InjectorOf(k)]++
		}
	}
	for i, n := range count {
		if n < shiftRun {
			continue
		}
		var list []int
		for n, end := f.c.pairs.ofInjector(i); n < end; n++ {
			for _, k := range f.c.pairs.readings(n) {
				list = append(list, int(k))
			}
		}
		slices.Sort(list)
		lists = append(lists, list)
	}
	return lists
}

func (f *family) slipped(far []bool, list []int, k, step int) bool {
	if !far[list[k]] || k+step < 0 || k+step >= len(list) {
		return false
	}
	read, next := float64(f.c.sheet.Readings.rows[list[k]].volume), f.middleOf(list[k+step])
	return next > 0 && math.Abs(math.Log(read/next)) < shiftNear
}

// middleOf is what the family's middle injector delivers in a reading, m³; 0 where
// fewer than three injectors tell.
func (f *family) middleOf(k int) float64 {
	return f.middleAt(f.c.PointOf(k)) / f.c.perShotScale(k)
}

// middleAt is the same for one shot at a point.
func (f *family) middleAt(p int) float64 {
	if f.n[p] < 3 || f.eff[p] < wellOpen {
		return 0
	}
	return f.eff[p] * f.flow[p]
}

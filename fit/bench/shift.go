package bench

import "math"

// How near and how far a reading has to be to belong one row further.
const (
	shiftRun  = 3    // readings in a row
	shiftFar  = 0.2  // from its own place, natural logarithm
	shiftNear = 0.12 // from the next, which the spread of a family keeps within
)

// shifts finds readings of an injector that slipped by one row: three or more in a
// row that are far from what the family delivers at their own points and near what
// it delivers at the next ones. By reading, the steps to where it belongs; 0: none.
func (f *family) shifts() []int {
	c := f.c
	belongs := make([]int, len(c.sheet.Readings))
	for _, list := range c.readingsOf() {
		for _, step := range []int{1, -1} {
			run := 0
			for k := range len(list) + 1 {
				if k < len(list) && f.slipped(list, k, step) {
					run++
					continue
				}
				for j := k - run; run >= shiftRun && j < k; j++ {
					belongs[list[j]] = step
				}
				run = 0
			}
		}
	}
	return belongs
}

// readingsOf lists each injector's readings in the order of the sheet.
func (c *Checked) readingsOf() [][]int {
	lists := make([][]int, len(c.injectors))
	for k, i := range c.injectorOf {
		lists[i] = append(lists[i], k)
	}
	return lists
}

func (f *family) slipped(list []int, k, step int) bool {
	if k+step < 0 || k+step >= len(list) {
		return false
	}
	read := float64(f.c.sheet.Readings[list[k]].Volume)
	own, next := f.middleOf(list[k]), f.middleOf(list[k+step])
	if read <= 0 || own <= 0 || next <= 0 {
		return false
	}
	return math.Abs(math.Log(read/own)) > shiftFar && math.Abs(math.Log(read/next)) < shiftNear
}

// middleOf is what the family's middle injector delivers in a reading, m³; 0 where
// fewer than three injectors tell.
func (f *family) middleOf(k int) float64 {
	p := f.c.pointOf[k]
	if f.n[p] < 3 || f.eff[p] < wellOpen {
		return 0
	}
	return f.eff[p] * f.flow[p] / f.c.perShotScale(k)
}

package bench

import (
	"math"

	"injtab/fit/internal/lsq"
	"injtab/fit/unit"
)

// findMeans averages the repeats that were not judged wrong. It takes the readings in their
// order: what is known of one and of its pair lies near what was just used, while those of a
// pair lie all over the sheet; of a million that is a third of the time.
func (c *Checked) findMeans() {
	c.means = make([]Mean, c.pairs.count())
	for k, n := range c.pairs.of {
		if c.wrong[k] != fine {
			continue
		}
		m := &c.means[n]
		m.N++
		m.PerShot += unit.Volume(c.perShot(k))
		m.U += c.Weight(k).variance() * unit.Volume(square(c.perShotScale(k))) // of the sum, squared, until all are there
	}
	for n := range c.means {
		if m := &c.means[n]; m.N > 0 {
			m.PerShot /= unit.Volume(m.N)
			m.U = unit.Volume(math.Sqrt(float64(m.U))) / unit.Volume(m.N)
		}
	}
}

// extremes are the least and the most that was read of a pair, m³ a shot.
type extremes struct{ least, most float64 }

// findShown finds what the readings show of a shot.
func (c *Checked) findShown() {
	c.shown, c.extremes = make([]float64, len(c.pairs.order)), make([]extremes, c.pairs.count())
	lsq.Share(len(c.extremes), leastPairs, func(first, end int) {
		for n := first; n < end; n++ {
			x := extremes{math.Inf(1), math.Inf(-1)}
			for j, end := c.pairs.span(int32(n)); j < end; j++ {
				y := c.perShot(int(c.pairs.order[j]))
				c.shown[j] = y
				x = extremes{min(x.least, y), max(x.most, y)}
			}
			c.extremes[n] = x
		}
	})
}

// perShot is what a reading shows of a shot, m³.
func (c *Checked) perShot(k int) float64 {
	return float64(c.sheet.Readings.rows[k].volume) * c.perShotScale(k)
}

// findFamilies averages, at each point, the means of the sound injectors.
func (c *Checked) findFamilies() {
	c.families = make([]Mean, len(c.points))
	for p, list := range c.pairs.at {
		sum, count := 0.0, 0
		for _, n := range list {
			if c.means[n].N > 0 && c.injectors[c.pairs.list[n].injector].Verdict == Sound {
				sum += float64(c.means[n].PerShot)
				count++
			}
		}
		if count > 0 {
			c.families[p] = Mean{PerShot: unit.Volume(sum / float64(count)), N: count}
		}
	}
}

// perShotScale turns the volume of a reading into that of one shot; a leak test's
// into that of the point's period.
func (c *Checked) perShotScale(k int) float64 { return c.scale[c.sheet.Readings.rows[k].common] }

// perShotScale is that of readings at a point.
func (c *common) perShotScale(p *Point) float64 {
	if c.leak() {
		return float64(p.Period) / float64(c.duration())
	}
	return 1 / c.shots
}

// findScales finds it for what readings have in common.
func (c *Checked) findScales() {
	commons := c.sheet.Readings.commons
	c.scale, c.step = make([]float64, len(commons)), make([]float64, len(commons))
	for j, n := range c.readingsOf {
		if n == 0 {
			continue
		}
		x := &commons[j]
		c.scale[j] = x.perShotScale(&c.points[c.pointOf[j]])
		c.step[j] = math.Min(1, math.Min(float64(x.period), timerStep)/float64(x.duration()))
	}
}

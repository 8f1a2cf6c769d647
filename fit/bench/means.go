package bench

import (
	"math"

	"injtab/fit/unit"
)

// findMeans averages the repeats that were not judged wrong.
func (c *Checked) findMeans() {
	c.means = make([][]Mean, len(c.injectors))
	sum, square := make([][]float64, len(c.injectors)), make([][]float64, len(c.injectors))
	for i := range c.injectors {
		sum[i], square[i] = make([]float64, len(c.points)), make([]float64, len(c.points))
		c.means[i] = make([]Mean, len(c.points))
	}
	for k := range c.sheet.Readings {
		if c.wrong[k] != "" {
			continue
		}
		i, p := c.injectorOf[k], c.pointOf[k]
		u := float64(c.weights[k].U()) * c.perShotScale(k)
		sum[i][p] += c.perShot(k)
		square[i][p] += u * u
		c.means[i][p].N++
	}
	for i := range c.means {
		for p := range c.means[i] {
			if n := float64(c.means[i][p].N); n > 0 {
				c.means[i][p].PerShot = unit.Volume(sum[i][p] / n)
				c.means[i][p].U = unit.Volume(math.Sqrt(square[i][p]) / n)
			}
		}
	}
}

// perShot is the delivery of one shot of a reading, m³.
func (c *Checked) perShot(k int) float64 {
	return float64(c.sheet.Readings[k].Volume) * c.perShotScale(k)
}

// perShotScale turns the volume of a reading into that of one shot; a leak test's
// into that of the point's period.
func (c *Checked) perShotScale(k int) float64 {
	r := c.sheet.Readings[k]
	if r.Leak() {
		return float64(c.points[c.pointOf[k]].Period) / float64(r.Duration())
	}
	return 1 / r.Shots
}

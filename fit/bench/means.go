package bench

import (
	"math"

	"injtab/fit/unit"
)

// Parts of a reading's uncertainty that are not written in the file.
const (
	technique = 0.003 // relative: drift of pressure and supply, emptying the vessel (common practice, no source)
	timerStep = 0.05  // s: starting and stopping by hand or relay, at most a shot (common practice, no source)
)

// A Weight is the standard uncertainty of the amount of one reading, by its parts.
// What is common to all readings (gauge, voltmeter, pulse timer, calibration of the
// vessel) is not in it, because it does not part one injector from another.
type Weight struct {
	Division  unit.Volume // division ÷ √12, as for a value rounded to it
	Count     unit.Volume // one shot too many or too few: its volume ÷ √3
	Technique unit.Volume // a share of the amount
}

// U is the parts combined.
func (w Weight) U() unit.Volume {
	return unit.Volume(math.Hypot(math.Hypot(float64(w.Division), float64(w.Count)), float64(w.Technique)))
}

func newWeight(r Reading, division unit.Volume, share float64) Weight {
	step := math.Min(float64(r.Period), timerStep) / math.Max(float64(r.Duration()), math.SmallestNonzeroFloat64)
	return Weight{
		Division:  unit.Volume(float64(division) / math.Sqrt(12)),
		Count:     unit.Volume(float64(r.Volume) * math.Min(step, 1) / math.Sqrt(3)),
		Technique: unit.Volume(float64(r.Volume) * share),
	}
}

// findMeans averages the repeats that were not judged wrong.
func (c *Checked) findMeans() {
	sum := make([][]float64, len(c.injectors))
	square := make([][]float64, len(c.injectors))
	c.means = make([][]Mean, len(c.injectors))
	for i := range c.injectors {
		sum[i], square[i] = make([]float64, len(c.points)), make([]float64, len(c.points))
		c.means[i] = make([]Mean, len(c.points))
	}
	for k, r := range c.sheet.Readings {
		if c.wrong[k] != "" {
			continue
		}
		i, p := c.injectorOf[k], c.pointOf[k]
		scale := c.perShotScale(k)
		sum[i][p] += float64(r.Volume) * scale
		u := float64(c.weights[k].U()) * scale
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

// perShotScale turns the volume of a reading into that of one shot; a leak test's
// into that of the point's period.
func (c *Checked) perShotScale(k int) float64 {
	r := c.sheet.Readings[k]
	if r.Leak() {
		return float64(c.points[c.pointOf[k]].Period) / float64(r.Duration())
	}
	return 1 / r.Shots
}

package bench

import (
	"cmp"
	"math"
	"slices"

	"injtab/fit/unit"
)

// Parts of a reading's uncertainty that no file says (common practice, no source).
const (
	technique    = 0.003 // relative: drift of pressure and supply, catching, emptying the vessel
	timerStep    = 0.05  // s: starting and stopping by hand or relay; no more than a shot
	repeatsAsked = 10    // repeats, beyond the first, that tell the technique
	repeatsTell  = 50000 // readings; of more, those of an even choice of injectors tell as well,
	repeatsFrom  = 100   // as long as it leaves so many injectors
	mostShare    = 0.05
	manyAmounts  = 12 // fewer may be round by chance
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
func (w Weight) U() unit.Volume { return unit.Volume(math.Sqrt(float64(w.variance()))) }

// variance is that of U, m⁶.
func (w Weight) variance() unit.Volume { return w.ofReading() + w.Technique*w.Technique }

// ofReading is the variance by division and count, m⁶.
func (w Weight) ofReading() unit.Volume { return w.Division*w.Division + w.Count*w.Count }

// weightOf is the weight that reading k would have if it showed a volume.
func (c *Checked) weightOf(k int, volume unit.Volume) Weight {
	return Weight{
		Division:  unit.Volume(float64(c.divisionOf(k)) / math.Sqrt(12)),
		Count:     unit.Volume(float64(volume) * c.step[c.sheet.Readings.rows[k].common] / math.Sqrt(3)),
		Technique: unit.Volume(float64(volume) * c.technique),
	}
}

// divisionOf is the smallest division that a reading was read to, as written or as
// its digits show.
func (c *Checked) divisionOf(k int) unit.Volume {
	return cmp.Or(c.sheet.Readings.aside(k).division, c.division)
}

// settleDivision guesses the division of readings that name none: the coarsest step that
// all amounts are multiples of, by the unit they were written in. It is 0 where they tell
// nothing.
func (c *Checked) settleDivision() {
	amounts, volumePer := 0, 1e-6 // m³ for a millilitre or, where weighed, a gram
	rs := &c.sheet.Readings
	for k := range rs.rows {
		mass, volume := rs.mass(k), rs.rows[k].volume
		if mass > 0 {
			volumePer = float64(volume) / mass.Grams()
		}
		if mass > 0 || volume > 0 {
			amounts++
		}
		if amounts == manyAmounts && rs.masses == nil {
			break // the rest changes nothing
		}
	}
	if amounts == 0 {
		return
	}
	steps := []float64{1, 0.1, 0.01, 0.001}
	if amounts >= manyAmounts {
		steps = []float64{10, 5, 2, 1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001}
	}
	i := slices.IndexFunc(steps, func(step float64) bool { return rs.fit(step) })
	if i >= 0 {
		c.division = unit.Volume(steps[i] * volumePer)
	}
}

// fit tells whether all amounts, in ml or g, are multiples of a step.
func (rs *Readings) fit(step float64) bool {
	for k := range rs.rows {
		amount := rs.rows[k].volume.Ml()
		if mass := rs.mass(k); mass > 0 {
			amount = mass.Grams()
		}
		n := amount / step
		if math.Abs(n-math.Round(n)) > 1e-6*math.Max(1, n) {
			return false
		}
	}
	return true
}

// settleTechnique estimates the technique from repeats, where there are enough: by how
// much they scatter beyond division and count. Medians keep slips out of it.
func (c *Checked) settleTechnique() {
	c.technique = technique
	var scatter, known, values []float64
	more := 0
	for _, n := range c.telling() {
		first, end := c.pairs.span(n)
		values = values[:0]
		for _, x := range c.shown[first:end] {
			if x > 0 {
				values = append(values, x)
			}
		}
		if len(values) < 2 {
			continue
		}
		widen := math.Sqrt(float64(len(values)) / float64(len(values)-1))
		more += len(values) - 1
		middle := median(values)
		for j := first; j < end; j++ {
			if k, x := c.pairs.order[j], c.shown[j]; x > 0 {
				w := c.Weight(int(k))
				scatter = append(scatter, widen*math.Abs(x/middle-1))
				known = append(known, math.Hypot(float64(w.Division), float64(w.Count))/float64(c.sheet.Readings.rows[k].volume))
			}
		}
	}
	if more < repeatsAsked {
		return
	}
	s, u := madToSigma*median(scatter), median(known)
	c.technique = math.Min(mostShare, math.Sqrt(math.Max(technique*technique/9, s*s-u*u)))
}

// telling lists the pairs whose repeats tell the technique: all with repeats and pulses,
// or those of an even choice of injectors where readings are many.
func (c *Checked) telling() (list []int32) {
	step := max(1, min(c.sheet.Readings.Len()/repeatsTell, len(c.injectors)/repeatsFrom))
	for i := 0; i < len(c.injectors); i += step {
		for n, end := c.pairs.ofInjector(i); n < end; n++ {
			if len(c.pairs.readings(n)) > 1 && !c.points[c.pairs.list[n].point].Leak {
				list = append(list, n)
			}
		}
	}
	return list
}

package bench

import (
	"math"

	"injtab/fit/unit"
)

// Parts of a reading's uncertainty that no file says (common practice, no source).
const (
	technique    = 0.003 // relative: drift of pressure and supply, catching, emptying the vessel
	timerStep    = 0.05  // s: starting and stopping by hand or relay; no more than a shot
	repeatsAsked = 10    // repeats, beyond the first, that tell the technique
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
func (w Weight) U() unit.Volume {
	return unit.Volume(math.Hypot(math.Hypot(float64(w.Division), float64(w.Count)), float64(w.Technique)))
}

// weigh settles the division and the share of technique, and weighs every reading.
func (c *Checked) weigh() {
	c.division = guessDivision(c.sheet.Readings)
	c.technique = technique
	c.weights = make([]Weight, len(c.sheet.Readings))
	c.weighAll()
	if share, ok := c.shareOfRepeats(); ok {
		c.technique = share
		c.weighAll()
	}
}

func (c *Checked) weighAll() {
	for k, r := range c.sheet.Readings {
		c.weights[k] = c.weightOf(k, r.Volume)
	}
}

// weightOf is the weight that reading k would have if it showed a volume.
func (c *Checked) weightOf(k int, volume unit.Volume) Weight {
	r := c.sheet.Readings[k]
	step := math.Min(1, math.Min(float64(r.Period), timerStep)/float64(r.Duration()))
	return Weight{
		Division:  unit.Volume(float64(c.divisionOf(k)) / math.Sqrt(12)),
		Count:     unit.Volume(float64(volume) * step / math.Sqrt(3)),
		Technique: unit.Volume(float64(volume) * c.technique),
	}
}

// divisionOf is the smallest division that a reading was read to, as written or as
// its digits show.
func (c *Checked) divisionOf(k int) unit.Volume {
	if d := c.sheet.Readings[k].Division; d > 0 {
		return d
	}
	return c.division
}

// guessDivision is the coarsest step that all amounts are multiples of, by the unit
// they were written in. It is 0 where they tell nothing.
func guessDivision(readings []Reading) unit.Volume {
	volumePer := 1e-6 // m³ for a millilitre or, where weighed, a gram
	var amounts []float64
	for _, r := range readings {
		switch {
		case r.Mass > 0:
			amounts = append(amounts, r.Mass.Grams())
			volumePer = float64(r.Volume) / r.Mass.Grams()
		case r.Volume > 0:
			amounts = append(amounts, r.Volume.Ml())
		}
	}
	if len(amounts) == 0 {
		return 0
	}
	steps := []float64{1, 0.1, 0.01, 0.001}
	if len(amounts) >= manyAmounts {
		steps = []float64{10, 5, 2, 1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001}
	}
	for _, step := range steps {
		if fits(amounts, step) {
			return unit.Volume(step * volumePer)
		}
	}
	return 0
}

func fits(amounts []float64, step float64) bool {
	for _, a := range amounts {
		n := a / step
		if math.Abs(n-math.Round(n)) > 1e-6*math.Max(1, n) {
			return false
		}
	}
	return true
}

// shareOfRepeats estimates the technique from repeats: by how much they scatter
// beyond division and count. Medians keep slips out of it.
func (c *Checked) shareOfRepeats() (float64, bool) {
	type cell struct{ i, p int }
	repeats := map[cell][]int{}
	for k, r := range c.sheet.Readings {
		if r.Volume > 0 && !r.Leak() {
			at := cell{c.injectorOf[k], c.pointOf[k]}
			repeats[at] = append(repeats[at], k)
		}
	}
	var scatter, known []float64
	more := 0
	for _, list := range repeats {
		if len(list) < 2 {
			continue
		}
		values := make([]float64, len(list))
		for j, k := range list {
			values[j] = c.perShot(k)
		}
		middle := median(append([]float64(nil), values...))
		widen := math.Sqrt(float64(len(list)) / float64(len(list)-1))
		for j, k := range list {
			w := c.weights[k]
			scatter = append(scatter, widen*math.Abs(values[j]/middle-1))
			known = append(known, math.Hypot(float64(w.Division), float64(w.Count))/float64(c.sheet.Readings[k].Volume))
		}
		more += len(list) - 1
	}
	if more < repeatsAsked {
		return 0, false
	}
	s, u := madToSigma*median(scatter), median(known)
	return math.Min(mostShare, math.Sqrt(math.Max(technique*technique/9, s*s-u*u))), true
}

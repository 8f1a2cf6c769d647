package fit

import (
	"cmp"
	"math"
	"slices"

	"injtab/fit/bench"
	"injtab/fit/internal/lsq"
)

// A datum is a reading as the fit sees it.
type datum struct {
	reading int // index in the sheet
	c       condition
	q       float64 // delivered, µl per shot
	sd      float64 // what vessel and count allow, µl per shot
}

// A dataset holds the readings that can be fitted, by injector.
type dataset struct {
	checked bench.Checked
	ids     []int     // index of each fitted injector in checked.Injectors()
	groups  [][]datum // readings of each
	closing [][]datum // readings whose off-time may be too short to close
	brief   [][]datum // readings whose open time is too short for the form to hold
	silent  [][]datum // readings that delivered nothing
	joined  bool      // repeats were joined, which hides runs and slots
	hurried int       // injectors left out because all their readings are in closing
}

// shortOff is the off-time in ms below which a reading must first prove that the
// injector still closed: closing takes of the order of a millisecond (common
// practice, no source).
const shortOff = 2.5

// gather picks the readings of the injectors that Check found sound, and of those
// that are merely outside their family.
func gather(c bench.Checked) dataset {
	d := dataset{checked: c}
	at := make([]int, len(c.Injectors())) // by injector: its place in ids, and one
	for i, inj := range c.Injectors() {
		if inj.Verdict != bench.Sound && inj.Verdict != bench.Outlier {
			continue
		}
		d.ids = append(d.ids, i)
		at[i] = len(d.ids)
	}
	d.groups = make([][]datum, len(d.ids))
	d.closing = make([][]datum, len(d.ids))
	d.brief = make([][]datum, len(d.ids))
	d.silent = make([][]datum, len(d.ids))
	if d.joined = c.Readings().Len() > manyReadings; d.joined {
		d.addRepeats()
	} else {
		readings := c.Readings()
		for i := range readings.Len() {
			if g := at[c.InjectorOf(i)] - 1; g >= 0 {
				d.add(g, &readings, i)
			}
		}
	}
	d.dropEmpty()
	share(len(d.groups), func(g int) { slices.SortFunc(d.groups[g], byPlace) })
	return d
}

// add takes in a reading of an injector.
func (d *dataset) add(g int, readings *bench.Readings, i int) {
	var x datum
	switch usable := d.take(&x, readings, i); {
	case !usable:
	case x.q <= 0:
		d.silent[g] = append(d.silent[g], x)
	default:
		d.addDelivery(g, x)
	}
}

// addDelivery takes in what was delivered.
func (d *dataset) addDelivery(g int, x datum) {
	if !x.c.static && x.c.offTime() < shortOff {
		d.closing[g] = append(d.closing[g], x)
		return
	}
	d.groups[g] = append(d.groups[g], x)
}

// take makes x a reading as the fit sees it; false for leak tests and what Check left out.
func (d *dataset) take(x *datum, readings *bench.Readings, i int) bool {
	r := readings.Dose(i)
	if r.Leak() || d.checked.Wrong(i) != "" {
		return false
	}
	x.reading, x.c, x.q, x.sd = i, conditionOf(r), r.PerShot().Ml()*microlitres, readingSD(d.checked.Weight(i), r.Shots)
	return true
}

// byPlace orders readings by pressure and voltage, so that those that share much of
// their arithmetic come one after the other, then by pulse and by their order in the
// file.
func byPlace(a, b datum) int {
	return cmp.Or(cmp.Compare(a.c.p, b.c.p), cmp.Compare(a.c.v, b.c.v), cmp.Compare(a.c.pulse, b.c.pulse), cmp.Compare(a.reading, b.reading))
}

// dropEmpty leaves out injectors without a reading to fit.
func (d *dataset) dropEmpty() {
	k := 0
	for g := range d.groups {
		if len(d.groups[g]) == 0 {
			if len(d.closing[g]) > 0 {
				d.hurried++
			}
			continue
		}
		d.ids[k], d.groups[k], d.closing[k], d.silent[k], d.brief[k] = d.ids[g], d.groups[g], d.closing[g], d.silent[g], d.brief[g]
		k++
	}
	d.ids, d.groups, d.closing, d.silent, d.brief = d.ids[:k], d.groups[:k], d.closing[:k], d.silent[:k], d.brief[:k]
}

// leastOpen is the open time in ms below which the needle hardly leaves its seat
// and no smooth form holds.
const leastOpen = 0.45

// setBriefAside takes out the readings whose pulse is hardly longer than the dead
// time that the guess gives them.
func (d *dataset) setBriefAside(gs guess) {
	for g, group := range d.groups {
		own := math.Exp(gs.pull[g])
		brief := func(x datum) bool {
			return !x.c.static && x.c.pulse-nearest(gs.points, x.c.p, x.c.v)*own < leastOpen
		}
		if !slices.ContainsFunc(group, brief) {
			continue
		}
		var kept []datum
		for _, x := range group {
			if brief(x) {
				d.brief[g] = append(d.brief[g], x)
			} else {
				kept = append(kept, x)
			}
		}
		if len(kept) > 0 {
			d.groups[g] = kept
		}
	}
}

func (d dataset) all(yield func(g int, x datum) bool) {
	for g, group := range d.groups {
		for _, x := range group {
			if !yield(g, x) {
				return
			}
		}
	}
}

// pulsed tells whether any reading is one of pulses.
func (d dataset) pulsed() bool {
	for _, x := range d.all {
		if !x.c.static {
			return true
		}
	}
	return false
}

func (d dataset) count() (n int) {
	for _, g := range d.groups {
		n += len(g)
	}
	return n
}

// distinct gives the rising values of a property of the pulsed readings, or of all;
// values within tolerance of the smallest of a run count as one and give their mean. They
// are few, so that looking through the readings again for each is quicker than sorting.
func (d dataset) distinct(all bool, of func(condition) float64, same func(a, b float64) bool) (out []float64) {
	xs := make([]float64, 0, d.count())
	for _, group := range d.groups {
		for i := range group {
			if all || !group[i].c.static {
				xs = append(xs, of(group[i].c))
			}
		}
	}
	for len(xs) > 0 {
		least, sum, rest := slices.Min(xs), 0.0, xs[:0]
		for _, x := range xs {
			if same(least, x) {
				sum += x
			} else {
				rest = append(rest, x)
			}
		}
		out = append(out, sum/float64(len(xs)-len(rest)))
		xs = rest
	}
	return out
}

func sameVoltage(a, b float64) bool  { return b-a <= 0.1+1e-9 }
func samePressure(a, b float64) bool { return b-a <= 0.01*a+1e-9 }

func (d dataset) voltages() []float64 {
	return d.distinct(false, func(c condition) float64 { return c.v }, sameVoltage)
}

func (d dataset) pressures() []float64 {
	return d.distinct(false, func(c condition) float64 { return c.p }, samePressure)
}

// flowPressures are the pressures of all readings, held-open ones too.
func (d dataset) flowPressures() []float64 {
	return d.distinct(true, func(c condition) float64 { return c.p }, samePressure)
}

func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	return lsq.Median(slices.Clone(x))
}

// mostPulses is the largest number of different pulses at one condition; it is not looked
// for further when it is enough.
func (d dataset) mostPulses(enough int) int {
	most := 0
	var seen []float64
	var s splitter
	for _, group := range d.groups {
		for _, cell := range s.cells(group) {
			seen = seen[:0]
			for _, x := range cell {
				seen = append(seen, x.c.pulse)
			}
			slices.Sort(seen)
			if most = max(most, len(slices.Compact(seen))); most >= enough {
				return most
			}
		}
	}
	return most
}

package tables

import (
	"math"
	"slices"

	"injtab/fit"
)

// A tally sums up the errors of one way of using the tables as they come.
type tally struct {
	formKey
	of   float64 // errors that are to come
	sums FormErrors
	tail tail
}

func newTally(k formKey, of int) *tally {
	return &tally{k, float64(of), FormErrors{Form: k.form.String(), TwoWay: k.twoWay}, newTail(of)}
}

func (t *tally) take(errorPct float64) {
	size, part := math.Abs(errorPct), errorPct/t.of
	t.sums.Points++
	t.sums.MeanAbs += math.Abs(part)
	t.sums.MeanSign += part
	t.sums.Max = max(t.sums.Max, size)
	t.tail.take(size)
}

// sumForms sums up the errors of ways of use. A reading is looked up in all of them at once,
// and its error is not kept: of a million in ten ways that takes half the time of one way
// after the other, and 8 MB less.
func (v *Verification) sumForms(keys []formKey) []FormErrors {
	all, fewer := make([]*tally, len(keys)), []*tally{}
	for i, k := range keys {
		all[i] = newTally(k, v.Points)
	}
	v.tally(all)
	for i, t := range all {
		if t.sums.Points < v.Points { // it has no value for some
			all[i] = newTally(t.formKey, t.sums.Points)
			fewer = append(fewer, all[i])
		}
	}
	v.tally(fewer)
	out := make([]FormErrors, len(all))
	for i, t := range all {
		out[i] = t.sums
		out[i].P95 = t.tail.percentile(t.sums.Points)
	}
	return out
}

// tally takes the errors of all points, some ways of use beside others.
func (v *Verification) tally(list []*tally) {
	inStretches(len(list), processors(len(list)), func(_, first, end int) {
		for _, p := range v.parts {
			p.tally(list[first:end])
		}
	})
}

// tally takes the errors of the points that a way of use has a value for.
func (p *comparison) tally(list []*tally) {
	keys := p.ecu.keys()
	list = slices.DeleteFunc(slices.Clone(list), func(t *tally) bool { return !slices.Contains(keys, t.formKey) })
	oneWay, twoWay := p.ecu.at(0, 0, false), p.ecu.at(0, 0, true)
	for i := range p.points {
		x := &p.points[i]
		r, trim := p.readings.Dose(int(x.reading)), p.trims[x.injector]
		place, pulse := rail{r.Pressure.KPa(), r.Voltage.V()}, r.Pulse.Ms()
		oneWay.move(place)
		twoWay.move(place)
		for _, t := range list {
			at := &oneWay
			if t.twoWay {
				at = &twoWay
			}
			if m, ok, err := at.volume(trim, t.form, pulse); ok && err == nil {
				t.take(p.ecu.missed(m, r))
			}
		}
	}
}

// A tail keeps as many of the largest sizes as their 95th percentile needs.
type tail struct {
	kept  []float64
	most  int
	least float64 // what is no larger is not needed
}

const tailFrom = 0.95

// rank is the place that the percentile has among n sizes in order.
func rank(n int) int { return max(0, int(math.Ceil(tailFrom*float64(n)))-1) }

func newTail(of int) tail {
	most := of - rank(of)
	return tail{make([]float64, 0, 2*most), most, -1}
}

func (t *tail) take(size float64) {
	if size <= t.least {
		return
	}
	if len(t.kept) == cap(t.kept) {
		t.shorten()
	}
	t.kept = append(t.kept, size)
}

// shorten leaves the largest; of like ones at the end no more than are needed.
func (t *tail) shorten() {
	t.least = inOrder(t.kept, len(t.kept)-t.most)
	t.kept = slices.DeleteFunc(t.kept, func(size float64) bool { return size <= t.least })
	for len(t.kept) < t.most {
		t.kept = append(t.kept, t.least)
	}
}

// percentile is that of n sizes that were taken; 0 of none.
func (t *tail) percentile(n int) float64 {
	if n == 0 {
		return 0
	}
	return inOrder(t.kept, rank(n)-(n-len(t.kept)))
}

// inOrder is the i-th of sizes by size, counted from 0.
func inOrder(sizes []float64, i int) float64 {
	return fit.Percentile(sizes, (float64(i)+0.5)/float64(len(sizes)))
}

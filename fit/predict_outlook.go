package fit

import (
	"math"

	"injtab/fit/bench"
	"injtab/fit/unit"
)

// An Outlook weighs readings that might be taken against each other: what any
// choice of them would tell, thousands of times a second. It takes all injectors
// of a class as measured alike. What a run has in common does not average over its
// injectors: with n of them each reading is given n times that variance, which is
// exact for what the family shares and too much for differences; Predict is exact
// about both.
type Outlook struct {
	family
	start      []float64   // locals, of any injector
	shared     []float64   // shared parameters
	rows       [][]float64 // by candidate: ∂q/∂(locals, shared) in µl per shot; nil where the fit would not use it
	read, form []float64   // by candidate: variance of one reading, and of the form, which repeats share
	sizes      []int       // injectors in each class
	needs      []need
	work       *information
}

// NewOutlook makes ready to choose among candidates, for classes of so many
// injectors each, so many of which run together. Candidates need no injector. An error says in one sentence why no
// choice of them could be fitted.
func NewOutlook(e Expectation, s bench.Setup, candidates []bench.Reading, sizes []int, together int) (*Outlook, error) {
	c, d, f, err := e.design(s, candidates)
	if err != nil {
		return nil, err
	}
	start := e.start(f, c.Setup().RatedPressure, len(d.groups))
	o := &Outlook{family: f, start: start.Local[0], shared: start.Shared, sizes: sizes,
		rows: make([][]float64, len(candidates)), read: make([]float64, len(candidates)), form: make([]float64, len(candidates))}
	cols := locals + f.shared()
	scratch := make([]float64, cols)
	for _, src := range e.sources(f, start, c.Readings(), d) {
		x := d.groups[src.g][src.i]
		row := make([]float64, cols)
		w := f.deliver(o.start, o.shared, x.c, row, scratch).w
		o.rows[x.reading] = row
		o.read[x.reading] = square(src.own) + float64(together)*square(src.common())
		o.form[x.reading] = square(Noise{ShortPct: usualForm}.relative(w) * src.q)
	}
	o.work = newInformation(f, sizes)
	return o, nil
}

// Usable tells whether the fit would use a reading of candidate k at all.
func (o *Outlook) Usable(k int) bool { return o.rows[k] != nil }

// A Kind is a quantity that tables are made from.
type Kind uint8

const (
	StaticFlow   Kind = iota // of one injector
	DeliveredFor             // by one injector kept open for a time
	DeliveredBy              // beside what the mean of all injectors delivers
)

// A Need is a quantity to be known, of an injector of a class.
type Need struct {
	Kind     Kind
	Class    int
	Open     unit.Time // open time; not for StaticFlow
	Pressure unit.Pressure
	Voltage  unit.Voltage
}

// need is a quantity's relative gradient.
type need struct {
	Need
	local, shared []float64
}

// Need adds a quantity whose uncertainty counts.
func (o *Outlook) Need(n Need) {
	grad := make([]float64, locals+len(o.shared))
	c := condition{period: math.Inf(1), place: place{n.Pressure.KPa(), n.Voltage.V()}}
	var value float64
	if n.Kind == StaticFlow {
		c.static, c.pulse, c.period = true, 1, 1
	} else {
		c.pulse = n.Open.Ms() + o.deadTime(o.start, o.shared, c.p, c.v, nil)
	}
	value = o.deliver(o.start, o.shared, c, grad, make([]float64, len(grad))).q
	for i := range grad {
		grad[i] /= value
	}
	o.needs = append(o.needs, need{n, grad[:locals], grad[locals:]})
}

// Uncertainties gives the relative standard uncertainty of every need, if of each
// class every injector is taken through candidate k counts[class][k] times. The
// slice is overwritten by the next call. Where a need can't be told it is large.
func (o *Outlook) Uncertainties(counts [][]int) []float64 {
	in := o.work
	in.reset()
	for class, list := range counts {
		for k, n := range list {
			if n > 0 && o.rows[k] != nil {
				in.add(class, o.rows[k], 1/(o.read[k]/float64(n)+o.form[k]))
			}
		}
	}
	in.factorize()
	in.out = in.out[:0]
	for _, n := range o.needs {
		in.out = append(in.out, math.Sqrt(in.variance(n)))
	}
	return in.out
}

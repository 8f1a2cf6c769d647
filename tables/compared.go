package tables

import (
	"iter"

	"injtab/fit/bench"
)

// A comparison is one set of tables beside the readings that can be compared with it.
type comparison struct {
	ecu      *ECU
	checked  *bench.Checked
	readings bench.Readings
	trims    []*Trim // by injector; nil: it is not in the tables
	points   []point // in the order of the readings
	outside  int     // readings outside the axes
	apart    Apart
	// modelMisses are the differences of table and model in per cent, for points that
	// the model has a value for.
	modelMisses []float64
}

// A point is one reading that is compared: of a million there is no room for more.
type point struct {
	reading, injector int32
	effective         float64 // ms
	errorPct          float64 // by the contract's own rule
}

// compare plays the ECU for the readings, side by side in parts of the list.
func compare(e *ECU, c bench.Checked, o VerifyOptions) []comparison {
	whole := comparison{ecu: e, checked: &c, readings: c.Readings()}
	for _, x := range c.Injectors() {
		whole.trims = append(whole.trims, e.trims[x.ID])
	}
	const least = 5000 // readings that are worth a part
	n := whole.readings.Len()
	parts := make([]comparison, max(1, processors(n/least)))
	inStretches(n, len(parts), func(i, first, end int) {
		parts[i] = whole
		parts[i].takeAll(o, first, end)
	})
	return parts
}

// takeAll compares the readings from first to end.
func (p *comparison) takeAll(o VerifyOptions, first, end int) {
	if o.Only == nil { // then most will be points
		p.points = make([]point, 0, end-first)
	}
	at := p.ecu.at(0, 0, ownRule.twoWay)
	for r := first; r < end; r++ {
		if o.Only == nil || o.Only(r) {
			p.take(&at, o, r)
		}
	}
}

// take compares one reading, or counts it apart.
func (p *comparison) take(at *placed, o VerifyOptions, i int) {
	e, r, injector := p.ecu, p.readings.Dose(i), p.checked.InjectorOf(i)
	trim := p.trims[injector]
	if !p.apart.admits(trim, p.checked, i, r) {
		return
	}
	at.move(rail{r.Pressure.KPa(), r.Voltage.V()})
	own, ok, err := at.volume(trim, ownRule.form, r.Pulse.Ms())
	if err != nil || !ok {
		p.apart.NoValue++
		return
	}
	if !at.inside(own) {
		p.outside++
		return
	}
	p.points = append(p.points, point{
		reading: int32(i), injector: int32(injector),
		effective: Effective(own, at.flow),
		errorPct:  e.missed(own, r),
	})
	if o.Model == nil {
		return
	}
	if ml, ok := o.Model(trim.Injector, r.Pulse, r.Pressure, r.Voltage); ok && ml > 0 {
		p.modelMisses = append(p.modelMisses, 100*(own/e.VolumeFactor-ml)/ml)
	}
}

// missed is by how many per cent a volume of the tables is more than what was read.
func (e *ECU) missed(ml float64, r bench.Dose) float64 {
	read := r.PerShot().Ml()
	return 100 * (ml/e.VolumeFactor - read) / read
}

// noisePct is a point's own noise in per cent of what was read.
func (p *comparison) noisePct(x point) float64 {
	i := int(x.reading)
	return 100 * float64(p.checked.Weight(i).U()) / float64(p.readings.Dose(i).Volume)
}

// admits counts a reading apart, or lets it through.
func (a *Apart) admits(t *Trim, c *bench.Checked, i int, r bench.Dose) bool {
	switch {
	case t == nil:
		a.NotIn++
	case r.Leak():
		a.Leak++
	case r.Static():
		a.Static++
	case r.Volume <= 0:
		a.Zero++
	case c.Wrong(i) != "":
		a.Rejected++
	default:
		return true
	}
	return false
}

// miss is what a point says.
func (p *comparison) miss(x point) Miss {
	r := p.readings.At(int(x.reading))
	return Miss{
		Injector: r.Injector, PulseMs: r.Pulse.Ms(), PressureKPa: r.Pressure.KPa(), VoltageV: r.Voltage.V(),
		ErrorPct: x.errorPct, Line: r.Line, Effective: x.effective,
	}
}

// points are those of all parts, in their order.
func (v *Verification) points() iter.Seq2[*comparison, point] {
	return func(yield func(*comparison, point) bool) {
		for i := range v.parts {
			p := &v.parts[i]
			for _, x := range p.points {
				if !yield(p, x) {
					return
				}
			}
		}
	}
}

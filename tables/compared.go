package tables

import (
	"iter"
	"runtime"
	"sync"

	"injtab/fit/bench"
)

// A comparison is one set of tables beside the readings that can be compared with it.
type comparison struct {
	ecu      *ECU
	readings bench.Readings
	points   []point // in the order of the readings
	outside  int     // readings outside the axes
	apart    Apart
	// modelMisses are the differences of table and model in per cent, for points that
	// the model has a value for.
	modelMisses []float64
}

// A point is one reading that is compared: of a million there is no room for more.
type point struct {
	reading   int
	effective float64 // ms
	errorPct  float64 // by the contract's own rule
	noisePct  float64 // of the reading
}

// compare plays the ECU for the readings, side by side in parts of the list, which are
// put together in their order.
func compare(e *ECU, c bench.Checked, o VerifyOptions) comparison {
	readings := c.Readings()
	const least = 5000 // readings that are worth a part
	parts := make([]comparison, max(1, min(runtime.GOMAXPROCS(0), readings.Len()/least)))
	var wait sync.WaitGroup
	for i := range parts {
		wait.Go(func() {
			parts[i] = comparison{ecu: e, readings: readings}
			for r := i * readings.Len() / len(parts); r < (i+1)*readings.Len()/len(parts); r++ {
				if o.Only == nil || o.Only(r) {
					parts[i].take(&c, o, r)
				}
			}
		})
	}
	wait.Wait()
	all := parts[0]
	for _, p := range parts[1:] {
		all.points = append(all.points, p.points...)
		all.modelMisses = append(all.modelMisses, p.modelMisses...)
		all.outside += p.outside
		all.apart.add(p.apart)
	}
	return all
}

// take compares one reading, or counts it apart.
func (p *comparison) take(c *bench.Checked, o VerifyOptions, i int) {
	e, r := p.ecu, p.readings.At(i)
	if !p.apart.admits(e, c, i, &r) {
		return
	}
	kPa, volts := r.Pressure.KPa(), r.Voltage.V()
	own, ok, err := e.Volume(r.Injector, ownRule.form, ownRule.twoWay, r.Pulse.Ms(), kPa, volts)
	if err != nil || !ok {
		p.apart.NoValue++
		return
	}
	if !e.Inside(own, kPa, volts) {
		p.outside++
		return
	}
	p.points = append(p.points, point{
		reading:   i,
		effective: Effective(own, e.flow.look(kPa)),
		errorPct:  e.missed(own, r),
		noisePct:  100 * float64(c.Weight(i).U()) / float64(r.Volume),
	})
	if o.Model == nil {
		return
	}
	if ml, ok := o.Model(r.Injector, r.Pulse, r.Pressure, r.Voltage); ok && ml > 0 {
		p.modelMisses = append(p.modelMisses, 100*(own/e.VolumeFactor-ml)/ml)
	}
}

// missed is by how many per cent a volume of the tables is more than what was read.
func (e *ECU) missed(ml float64, r bench.Reading) float64 {
	read := r.PerShot().Ml()
	return 100 * (ml/e.VolumeFactor - read) / read
}

// errors appends the errors in per cent of another way of using the tables, for the
// points that it has a value for.
func (p *comparison) errors(k formKey, to []float64) []float64 {
	for _, x := range p.points {
		r := p.readings.At(x.reading)
		if m, ok, err := p.ecu.Volume(r.Injector, k.form, k.twoWay, r.Pulse.Ms(), r.Pressure.KPa(), r.Voltage.V()); ok && err == nil {
			to = append(to, p.ecu.missed(m, r))
		}
	}
	return to
}

// admits counts a reading apart, or lets it through.
func (a *Apart) admits(e *ECU, c *bench.Checked, i int, r *bench.Reading) bool {
	switch {
	case !e.Has(r.Injector):
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
	r := p.readings.At(x.reading)
	return Miss{
		Injector: r.Injector, PulseMs: r.Pulse.Ms(), PressureKPa: r.Pressure.KPa(), VoltageV: r.Voltage.V(),
		ErrorPct: x.errorPct, Line: r.Line, Effective: x.effective,
	}
}

// misses are all points, in their order.
func (v *Verification) misses() iter.Seq[Miss] {
	return func(yield func(Miss) bool) {
		for _, p := range v.parts {
			for _, x := range p.points {
				if !yield(p.miss(x)) {
					return
				}
			}
		}
	}
}

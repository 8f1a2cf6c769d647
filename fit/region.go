package fit

import (
	"math"
	"slices"

	"injtab/fit/diag"
)

// A region is where readings were taken.
type region struct {
	voltages, pressures []float64 // V, kPa, rising; of pulsed readings
	flowPressures       []float64 // kPa, of all readings
	cells               [][2]float64
	shortest, longest   float64 // open time in ms of the readings used
	pulses              int     // most different pulses at one condition
}

func (d dataset) region() region {
	r := region{voltages: d.voltages(), pressures: d.pressures(), flowPressures: d.flowPressures(), pulses: d.mostPulses(math.MaxInt)}
	for _, x := range d.all {
		if !x.c.static && !r.has(x.c.p, x.c.v) {
			r.cells = append(r.cells, [2]float64{x.c.p, x.c.v})
		}
	}
	return r
}

func (r region) has(p, v float64) bool {
	for _, c := range r.cells {
		if math.Abs(c[0]-p) <= 0.01*c[0]+1e-9 && math.Abs(c[1]-v) <= 0.1+1e-9 {
			return true
		}
	}
	return false
}

func hasNear(xs []float64, x, tolerance float64) bool {
	return slices.ContainsFunc(xs, func(y float64) bool { return math.Abs(x-y) <= tolerance+1e-9 })
}

func inside(xs []float64, x, tolerance float64) bool {
	return x >= xs[0]-tolerance-1e-9 && x <= xs[len(xs)-1]+tolerance+1e-9
}

// flow is the basis of a flow at a pressure. One pressure says nothing of others.
func (r region) flow(p float64, o Options) (diag.Basis, diag.Status) {
	return along(r.flowPressures, p, 0.01*p, o)
}

func along(xs []float64, x, tolerance float64, o Options) (diag.Basis, diag.Status) {
	switch {
	case hasNear(xs, x, tolerance):
		return diag.Measured, diag.OK
	case len(xs) == 1 && !o.Assume:
		return diag.Extrapolated, diag.NotMeasured
	case len(xs) == 1:
		return diag.Assumed, diag.OK
	case inside(xs, x, tolerance):
		return diag.Interpolated, diag.OK
	}
	return diag.Extrapolated, diag.OK
}

// at is the basis of a dead time or delivered volume at a pressure and voltage.
func (r region) at(p, v float64, o Options) (diag.Basis, diag.Status) {
	pb, ps := along(r.pressures, p, 0.01*p, o)
	vb, vs := along(r.voltages, v, 0.1, o)
	basis, status := max(pb, vb), max(ps, vs)
	if basis == diag.Measured && !r.has(p, v) {
		basis = diag.Interpolated
	}
	return basis, status
}

// clamp moves a condition to the nearest edge of the measured region.
func (r region) clamp(p, v float64) (float64, float64) {
	return min(max(p, r.pressures[0]), r.pressures[len(r.pressures)-1]),
		min(max(v, r.voltages[0]), r.voltages[len(r.voltages)-1])
}

// beyondPressure is how far p lies outside the measured pressures, as |ln ratio|.
func (r region) beyondPressure(p float64) float64 {
	lo, hi := r.flowPressures[0], r.flowPressures[len(r.flowPressures)-1]
	return math.Abs(math.Log(p / min(max(p, lo), hi)))
}

// voltageGap is the distance in V from v to the nearest measured voltage.
func (r region) voltageGap(v float64) float64 {
	gap := math.Inf(1)
	for _, x := range r.voltages {
		gap = math.Min(gap, math.Abs(x-v))
	}
	return gap
}

package fit

import (
	"math"

	"injtab/fit/unit"
)

// A Bend is the short-pulse part of the curves at one voltage, for the many evaluations
// of a search.
type Bend struct {
	form   returning
	theta  []float64
	fade   fade
	driven float64
}

// BendAt is the bend at a supply voltage.
func (m *Model) BendAt(v unit.Voltage) Bend { return m.sol.bent(m.sol.Shared, v.V()) }

func (f family) bent(theta []float64, v float64) Bend {
	th := f.bendAt(theta)
	return Bend{form: f.bend, theta: th, fade: f.fade(theta), driven: f.driven(v)}
}

// Effective is the effective pulse in ms of an open time of w ms after a dead time of d
// ms, the reverse of w = u + Correction(u, d).
func (b Bend) Effective(w, d float64) float64 {
	g, _ := b.effective(w, d)
	return g
}

// effective is g at an open time of w ms, and its slope.
func (b Bend) effective(w, d float64) (g, slope float64) {
	c, dw, _ := b.form.eval(b.theta, b.fade, w, d, b.driven, nil)
	return w + c, 1 + dw
}

// Correction is the short-pulse correction in ms at an effective pulse of u ms, for a
// dead time of d ms.
func (b Bend) Correction(u, d float64) float64 { return b.open(u, d) - u }

// open is the open time w in ms whose effective pulse is u ms, for a dead time of d ms.
// Newton's steps from the pulse itself, which is near: three on the average. They are kept
// between bounds that close in; g never falls.
func (b Bend) open(u, d float64) float64 {
	lo, hi, w := -lowestOpen, math.Inf(1), u
	for range 80 {
		value, slope := b.effective(w, d)
		if value < u {
			lo = w
		} else {
			hi = w
		}
		next := w - (value-u)/slope
		if math.Abs(next-w) < openDigits {
			return next
		}
		if !(next > lo && next < hi) {
			next = (lo + min(hi, 2*math.Abs(lo)+u+1)) / 2
		}
		w = next
	}
	return w
}

const (
	lowestOpen = 5.0   // ms: no bend reaches further below zero
	openDigits = 1e-11 // ms
)

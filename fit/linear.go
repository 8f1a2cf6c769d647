package fit

import (
	"math"

	"injtab/fit/unit"
)

// linearDeviation is how far delivered fuel may stray from the straight line
// within the linear flow range (common practice, no source).
const linearDeviation = 0.05

// linearRange gives the pulses in ms between which member g delivers within the
// linear deviation of the straight line S·w at the reference condition: down to
// the shortest pulse that readings support, up to the longest.
func (m *Model) linearRange(g int) (from, to float64) {
	d := m.DeadTimeOf(g, m.RefP, m.RefV)
	if math.IsNaN(d) {
		return 0, 0
	}
	lo, hi := m.OpenTimes()
	top := hi
	bend := m.BendAt(m.RefV)
	off := func(w float64) float64 { return math.Abs((bend.Effective(w, d) - w) / w) }
	// Down in coarse steps to the first place that strays, then finely before it.
	for _, step := range []float64{0.1, 0.005} {
		for hi-step >= lo && off(hi-step) <= linearDeviation {
			hi -= step
		}
	}
	return hi + d, top + d
}

// SmallestFuel is the volume in ml of the shortest pulse that readings support or
// that is still linear, whichever is longer, at the reference condition.
func (m *Model) SmallestFuel(g int) Estimate {
	return m.Delivered(Who{g}, unit.Ms(m.Members[g].LinearFrom), m.RefP, m.RefV)
}

// LowestOpening is the voltage in V below which member g does not open at the
// reference pressure: the highest at which a long pulse delivered nothing, if any
// did. ok is false where the session could not tell.
func (m *Model) LowestOpening(g int) (v float64, ok bool) {
	v = m.silentAt(g, m.RefP.KPa())
	return v, v > 0
}

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
	grad := make([]float64, m.sol.nBend)
	off := func(w float64) float64 {
		c, _, _ := m.sol.bend.eval(m.sol.bendAt(m.sol.Shared), m.sol.bend.length(m.sol.bendAt(m.sol.Shared)), w, d, m.RefV.V(), grad)
		return math.Abs(c / w)
	}
	// Down in coarse steps to the first place that strays, then finely before it.
	for _, step := range []float64{0.1, 0.005} {
		for hi-step >= lo && off(hi-step) <= linearDeviation {
			hi -= step
		}
	}
	return hi + d, top + d
}

// Closing is what the session tells about the time the injectors need to close:
// Known is the shortest off-time at which every reading still fell on the curve,
// Fails the longest at which one did not; both in ms, 0 where not told.
func (m *Model) Closing(g int) (known, fails float64) {
	for _, x := range m.sol.data.closing[g] {
		out := m.sol.deliver(m.sol.Local[g], m.sol.Shared, x.c, nil, nil)
		sd := math.Hypot(x.sd/out.q, m.Noise.relative(out.w))
		// More than the curve allows: the needle had not come back.
		if x.q/out.q-1 > math.Max(4*sd, 0.02) {
			fails = math.Max(fails, x.c.offTime())
		}
	}
	if len(m.sol.data.closing[g]) == 0 {
		return 0, 0
	}
	known = math.Inf(1)
	for _, x := range m.sol.data.closing[g] {
		if off := x.c.offTime(); off > fails {
			known = math.Min(known, off)
		}
	}
	if math.IsInf(known, 0) {
		known = 0
	}
	return known, fails
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

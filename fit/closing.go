package fit

import (
	"math"
	"slices"

	"injtab/fit/internal/lsq"
)

// notClosedFrom is how far above the curve, relative, a reading must lie at the
// least before it shows that the needle had not come back.
const notClosedFrom = 0.02

// failsBelow is the longest off-time in ms at which a reading of injector g delivered
// more than the curve allows: the needle had not come back; 0: none did.
func (s solution) failsBelow(g int) (fails float64) {
	for _, x := range s.data.closing[g] {
		out := s.deliver(s.Local[g], s.Shared, x.c, nil, nil)
		sd := math.Hypot(x.sd/out.q, s.noise.relative(out.w))
		if x.q/out.q-1 > math.Max(4*sd, notClosedFrom) {
			fails = math.Max(fails, x.c.offTime())
		}
	}
	return fails
}

// withClosed refits with the readings of short off-time whose injector is seen to have
// closed all the same: they are as good as any other.
func (s solution) withClosed() (solution, error) {
	d, found := s.data, false
	d.groups = slices.Clone(d.groups)
	for g, closing := range d.closing {
		fails := s.failsBelow(g)
		d.groups[g] = slices.Clip(d.groups[g])
		for _, x := range closing {
			if x.c.offTime() > fails {
				d.groups[g], found = append(d.groups[g], x), true
			}
		}
	}
	if !found {
		return s, nil
	}
	return solve(s.family, d, lsq.Start{Shared: s.Shared, Local: s.Local}, s.noise, 1, true, searchOptions)
}

// Closing is what the session tells about the time that injector g needs to close:
// known is the shortest off-time at which every reading still fell on the curve, so
// that it closes in that time or less; fails the longest at which one did not; both in
// ms, 0 where not told.
func (m *Model) Closing(g int) (known, fails float64) {
	if len(m.sol.data.closing[g]) == 0 {
		return 0, 0
	}
	fails, known = m.sol.failsBelow(g), math.Inf(1)
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

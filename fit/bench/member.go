package bench

import (
	"math"

	"injtab/fit/internal/lsq"
)

// A memberFit finds the gain and the lateness of injectors one after another; it holds
// the working values.
type memberFit struct {
	f           *family
	x, y, s     []float64
	late, sigma []float64
	robust      robust
}

const (
	nearSigmas   = 3.0
	mostPoints   = 0.75
	pointsToMost = 12 // of fewer, two lines may each come near to most

	leastInjectors = 50 // that are worth a processor
)

// fitInjectors fits injectors to the points, from a resistant start or from where they
// were. None bears on another, so that they are shared out to the processors.
func (f *family) fitInjectors(list []int, resistant func(i int) bool) {
	f.findForms()
	lsq.Share(len(list), leastInjectors, func(first, end int) {
		m := memberFit{f: f}
		for _, i := range list[first:end] {
			m.fit(i, resistant(i))
		}
	})
}

// fit finds an injector's gain and how late it opens, at first alike under all
// conditions, then its own where enough was measured.
func (m *memberFit) fit(i int, resistant bool) {
	f := m.f
	m.gather(i)
	if len(m.x) == 0 {
		return
	}
	gain, late := m.robust.line(m.x, m.y, m.s, 1+f.gain[i], f.lateOverall[i], lateSpread)
	if resistant && !m.mostNear(gain, late) {
		gain, late = startLine(m.x, m.y)
		gain, late = m.robust.line(m.x, m.y, m.s, gain, late, lateSpread)
	}
	f.gain[i], f.lateOverall[i] = math.Max(gain, leastGain)-1, late
	m.fitLateness(i)
}

// mostNear tells whether a line comes so near to most of the points that no other can come
// near to as many, so that no resistant start is needed to find it: a tenth of the time of
// checking a million readings.
func (m *memberFit) mostNear(gain, late float64) bool {
	if len(m.x) < pointsToMost {
		return false
	}
	near := 0
	for k, x := range m.x {
		if math.Abs(m.y[k]-gain+late*x) <= nearSigmas*m.s[k] {
			near++
		}
	}
	return float64(near) >= mostPoints*float64(len(m.x))
}

// gather takes what the points tell of an injector, relative to the family.
func (m *memberFit) gather(i int) {
	f := m.f
	x, y, s := m.x[:0], m.y[:0], m.s[:0]
	for n, end := f.c.pairs.ofInjector(i); n < end; n++ {
		if !f.tells(n) {
			continue
		}
		p := f.c.pairs.list[n].point
		inverse := 0.0
		if f.cond[p] >= 0 && f.timed {
			inverse = f.slope[p] / f.eff[p]
		}
		x, y, s = append(x, inverse), append(y, f.y[n]/f.eff[p]), append(s, f.sigmaAtPoint(n)/f.eff[p])
	}
	m.x, m.y, m.s = x, y, s
}

// fitLateness finds how late an injector opens under each condition: its own lateness
// where enough points tell, else that over all.
func (m *memberFit) fitLateness(i int) {
	f := m.f
	overall := f.lateOverall[i]
	rest := f.ofConditions(i)
	for j := range f.conds {
		late, sigma := m.late[:0], m.sigma[:0]
		for ; len(rest) > 0 && f.condOf(rest[0]) == j; rest = rest[1:] {
			n := rest[0]
			if p := f.c.pairs.list[n].point; f.tells(n) && f.slope[p] >= leastSlope && f.timed {
				late, sigma = append(late, f.lateSeen(n)), append(sigma, f.sigmaAtPoint(n)/f.slope[p])
			}
		}
		f.late[i][j] = overall
		if len(late) >= ownLateness {
			f.late[i][j] = m.robust.mean(late, sigma)
		}
		m.late, m.sigma = late, sigma
	}
}

// lateSeen is by how much later an injector opened, judged by one point.
func (f *family) lateSeen(n int32) float64 {
	x := f.c.pairs.list[n]
	own := f.y[n] / (1 + f.gain[x.injector])
	if s := f.shapes[f.cond[x.point]]; s != nil && f.n[x.point] >= 3 {
		return f.c.points[x.point].Pulse.Ms() - s.pulse(own)
	}
	return f.eff[x.point] - own
}

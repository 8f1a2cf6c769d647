package bench

import (
	"math"

	"injtab/fit/unit"
)

// How injectors of one family part from the simple form of family: constants from
// simulated injectors of five designs.
const (
	medianVariance = math.Pi / 2 // of a median, times n, relative to one value of normal data
	otherScatter   = 0.002       // relative, from run to run
	formMs         = 0.003       // ms, at every pulse
	bendMs         = 0.03        // ms more at no effective pulse
	bendOver       = 0.35        // ms of effective pulse in which that falls to a third
	bendOfLateIn   = 0.3         // of lateness, at no effective pulse, within the pulses measured
	bendOfLateOut  = 2.0         // and below them
)

// sigma is the standard deviation, in ms, of what injector i is read to deliver at
// point p where eff ms are expected: that of the reading and that of the form, which
// is worst at short pulses.
func (f *family) sigma(i, p int, eff float64) float64 {
	s := math.Hypot(f.readSigma(i, p, eff), otherScatter*eff)
	if f.cond[p] < 0 || !f.timed {
		return s
	}
	form := f.formAt(p, eff) + f.bendOfLate(i, p, eff)
	return math.Hypot(s, form*math.Sqrt(1+medianVariance/float64(max(1, f.n[p]))))
}

// readSigma is the part of the reading alone.
func (f *family) readSigma(i, p int, eff float64) float64 {
	k := f.middle[i][p]
	if k < 0 {
		return 0
	}
	total := unit.Volume(eff * f.flow[p] / f.c.perShotScale(k))
	return eff * float64(f.c.weightOf(k, total).U()/total)
}

// formAt is by how much, in ms, injectors of one family part from the simple form at
// an effective pulse; the longer the dead time, the more. The constants are from
// simulated injectors of five designs.
func (f *family) formAt(p int, eff float64) float64 {
	dead := math.Max(0, f.c.points[p].Pulse.Ms()-eff)
	return (formMs + bendMs*math.Exp(-eff/bendOver)) * math.Max(1, dead*dead)
}

// bendOfLate is how uncertain the bend of an injector is that opens late or early:
// it was measured with the others unless theirs ends before.
func (f *family) bendOfLate(i, p int, eff float64) float64 {
	late := f.late[i][f.cond[p]]
	part := bendOfLateIn
	if s := f.shapes[f.cond[p]]; s == nil || f.c.points[p].Pulse.Ms()-late < s.t[0] {
		part = bendOfLateOut
	}
	return part * math.Exp(-eff/bendOver) * math.Abs(late)
}

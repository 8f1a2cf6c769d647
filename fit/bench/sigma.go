package bench

import (
	"math"

	"injtab/fit/internal/lsq"
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

// noise is what makes the readings of a pair uncertain.
type noise struct {
	division float64 // m³ a shot
	count    float64 // relative
}

// findNoise finds it from the last reading of each pair; those of a pair are alike. It does
// not depend on which readings are wrong.
func (f *family) findNoise(before *family) {
	if before != nil {
		f.noise = before.noise
		return
	}
	f.noise = make([]noise, len(f.y))
	lsq.Share(len(f.noise), leastPairs, func(first, end int) {
		for n := first; n < end; n++ {
			list := f.c.pairs.readings(int32(n))
			k := int(list[len(list)-1])
			w := f.c.weightOf(k, 1)
			f.noise[n] = noise{float64(w.Division) * f.c.perShotScale(k), float64(w.Count)}
		}
	})
}

// sigma is the standard deviation, in ms, of what injector i is read to deliver at
// point p where eff ms are expected: that of the reading and that of the form, which
// is worst at short pulses. n is their pair, or none: then there is no reading.
func (f *family) sigma(i, p int, n int32, eff float64) float64 {
	return f.sigmaOf(i, p, n, eff, f.newForm(p, eff))
}

// sigmaAtPoint is sigma where the family's effective pulse is expected, n a pair.
func (f *family) sigmaAtPoint(n int32) float64 {
	x := f.c.pairs.list[n]
	p := int(x.point)
	return f.sigmaOf(int(x.injector), p, n, f.eff[p], f.forms[p])
}

func (f *family) sigmaOf(i, p int, n int32, eff float64, by form) float64 {
	s2 := square(otherScatter * eff)
	if n != none {
		s2 += f.readVariance(n, eff)
	}
	if f.cond[p] >= 0 && f.timed {
		s2 += square(by.off+f.bendOfLate(i, p, by.fade)) * by.median
	}
	return math.Sqrt(s2)
}

// A form is what is uncertain of the form at a point and an effective pulse.
type form struct {
	off    float64 // by how much injectors of one family part from it, ms
	fade   float64 // how much of the bend is left
	median float64 // by how much the variance is larger because the middle is that of few
}

// newForm finds it: the longer the dead time, the more the injectors part. The constants
// are from simulated injectors of five designs.
func (f *family) newForm(p int, eff float64) form {
	fade := math.Exp(-eff / bendOver)
	dead := math.Max(0, f.c.points[p].Pulse.Ms()-eff)
	return form{
		off:    (formMs + bendMs*fade) * math.Max(1, dead*dead),
		fade:   fade,
		median: 1 + medianVariance/float64(max(1, f.n[p])),
	}
}

// findForms finds those at the points' own effective pulses, once for all injectors.
func (f *family) findForms() {
	f.forms = make([]form, len(f.eff))
	for p, eff := range f.eff {
		f.forms[p] = f.newForm(p, eff)
	}
}

// readVariance is the part of the reading alone.
func (f *family) readVariance(n int32, eff float64) float64 {
	x := f.noise[n]
	return square(x.division/f.flow[f.c.pairs.list[n].point]) + square(eff)*(square(x.count)+square(f.c.technique))
}

func square(x float64) float64 { return x * x }

// bendOfLate is how uncertain the bend of an injector is that opens late or early:
// it was measured with the others unless theirs ends before.
func (f *family) bendOfLate(i, p int, fade float64) float64 {
	late := f.late[i][f.cond[p]]
	part := bendOfLateIn
	if s := f.shapes[f.cond[p]]; s == nil || f.c.points[p].Pulse.Ms()-late < s.t[0] {
		part = bendOfLateOut
	}
	return part * fade * math.Abs(late)
}

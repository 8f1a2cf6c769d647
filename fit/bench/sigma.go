package bench

import (
	"math"
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
	division float64 // ms
	count    float64 // relative
}

// findNoise finds it from the last reading of each pair; those of a pair are alike.
func (f *family) findNoise() {
	f.noise = make([]noise, len(f.y))
	for n := range f.noise {
		list := f.c.pairs.readings(int32(n))
		k := int(list[len(list)-1])
		w := f.c.weightOf(k, 1)
		f.noise[n] = noise{float64(w.Division) * f.c.perShotScale(k) / f.flow[f.c.pairs.list[n].point], float64(w.Count)}
	}
}

// sigma is the standard deviation, in ms, of what injector i is read to deliver at
// point p where eff ms are expected: that of the reading and that of the form, which
// is worst at short pulses. n is their pair, or none: then there is no reading.
func (f *family) sigma(i, p int, n int32, eff float64) float64 {
	s2 := square(otherScatter * eff)
	if n != none {
		s2 += f.readVariance(n, eff)
	}
	if f.cond[p] >= 0 && f.timed {
		s2 += square(f.formAt(p, eff)+f.bendOfLate(i, p, eff)) * (1 + medianVariance/float64(max(1, f.n[p])))
	}
	return math.Sqrt(s2)
}

// readVariance is the part of the reading alone.
func (f *family) readVariance(n int32, eff float64) float64 {
	x := f.noise[n]
	return square(x.division) + square(eff)*(square(x.count)+square(f.c.technique))
}

func square(x float64) float64 { return x * x }

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

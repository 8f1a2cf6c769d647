package bench

import (
	"cmp"
	"math"
	"slices"
)

// A curve is what the family loses of a pulse, as a function of the pulse: under
// each condition a dead time, and a bend below about one millisecond that the
// conditions have nearly in common. It judges points that too few injectors were
// measured at to judge each other.
type curve struct {
	dead  []float64 // by condition, ms; 0: not known
	bends []bend    // by open time
}

// A bend is what one point loses beyond its condition's dead time.
type bend struct{ open, ms float64 }

const (
	curvePulses = 5   // under one condition, to know its dead time
	bendPool    = 11  // neighbours in open time that tell the bend
	longOpen    = 0.8 // ms: from here on the bend is small

	weakBendMs   = 0.1 // ms: how far the bend goes with the supply, where the dead time doubles
	weakBendOver = 1.0 // ms, it falls to a third
)

func (f *family) newCurve() curve {
	cv := curve{dead: make([]float64, len(f.conds))}
	if !f.timed {
		return cv
	}
	for j, cd := range f.conds {
		cv.dead[j] = f.deadTime(cd)
		for _, p := range cd.points {
			if open := f.c.points[p].Pulse.Ms() - cv.dead[j]; cv.dead[j] > 0 && open > 0 && f.eff[p] > leastEff {
				cv.bends = append(cv.bends, bend{open, open - f.eff[p]})
			}
		}
	}
	slices.SortFunc(cv.bends, func(a, b bend) int { return cmp.Or(cmp.Compare(a.open, b.open), cmp.Compare(a.ms, b.ms)) })
	return cv
}

// deadTime is the median of what the longer pulses lose, those with the surest
// effective pulse counting most.
func (f *family) deadTime(cd condition) float64 {
	var lost, weight []float64
	for _, p := range cd.points {
		if f.eff[p] < longOpen {
			continue
		}
		s := math.Hypot(0.01, 0.005*f.eff[p])
		lost, weight = append(lost, f.c.points[p].Pulse.Ms()-f.eff[p]), append(weight, 1/(s*s))
	}
	if len(lost) < curvePulses-1 {
		return 0
	}
	return weightedMedian(lost, weight)
}

// onCurve is the effective pulse that the curve gives a point, and by how much the
// bends near it scatter, in ms.
func (f *family) onCurve(p int) (eff, scatter float64, ok bool) {
	j := f.cond[p]
	if j < 0 || !f.timed || f.curve.dead[j] <= 0 {
		return 0, 0, false
	}
	open := f.c.points[p].Pulse.Ms() - f.curve.dead[j]
	if open < 2*bendOver {
		return 0, 0, false
	}
	ms, scatter := f.curve.bendAt(open)
	eff = open - ms
	least := f.curve.dead[j]
	for _, d := range f.curve.dead {
		if d > 0 {
			least = math.Min(least, d)
		}
	}
	scatter += weakBendMs * (f.curve.dead[j]/least - 1) * math.Exp(-eff/weakBendOver)
	return eff, scatter, eff > leastEff
}

// bendAt is the median of the bends nearest in open time, by ratio, and their
// scatter. The point asked about is among them and does not move a median.
func (cv curve) bendAt(open float64) (ms, scatter float64) {
	i, _ := slices.BinarySearchFunc(cv.bends, open, func(b bend, x float64) int { return cmp.Compare(b.open, x) })
	lo, hi := i, i
	for hi-lo < bendPool && (lo > 0 || hi < len(cv.bends)) {
		if hi == len(cv.bends) || lo > 0 && open/cv.bends[lo-1].open < cv.bends[hi].open/open {
			lo--
		} else {
			hi++
		}
	}
	var near []float64
	for _, b := range cv.bends[lo:hi] {
		near = append(near, b.ms)
	}
	ms = median(near)
	if len(near) < bendPool/2 {
		return 0, bendMs
	}
	for k := range near {
		near[k] = math.Abs(near[k] - ms)
	}
	return ms, quantile(near, 0.75) / 1.15
}

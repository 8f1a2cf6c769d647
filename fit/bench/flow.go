package bench

import (
	"math"
	"slices"

	"injtab/fit/internal/lsq"
	"injtab/fit/unit"
)

const (
	apartMs       = 0.05 // pulses closer than this make no slope
	mostPairs     = 4000 // of one pressure; more add nothing
	pressureTally = samePressure

	// The exponent of flow over pressure is that of an orifice, unless the readings
	// show another within reason.
	orificeExponent, leastExponent, mostExponent = 0.5, 0.3, 0.7
)

// slopes are the growths of delivery between pairs of pulses, with the distance of
// the pulses as weight.
type slopes struct{ value, weight []float64 }

// findFlow estimates the family's flow at each pressure from the slopes between
// pulses, and along pressures by a power law, so that no single reading carries it.
func (f *family) findFlow() {
	f.flow = make([]float64, len(f.c.points))
	byPressure := f.slopesByPressure()
	keys := make([]int64, 0, len(byPressure))
	for k := range byPressure {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	var lnP, lnS []float64
	for _, k := range keys {
		if s := weightedMedian(byPressure[k].value, byPressure[k].weight); s > 0 {
			lnP, lnS = append(lnP, float64(k)*pressureTally), append(lnS, math.Log(s))
		}
	}
	f.timed = len(lnP) > 0
	if !f.timed {
		f.flowOfLevels()
		return
	}
	n := orificeExponent
	if len(lnP) > 1 {
		if _, slope := lsq.RepeatedMedian(lnP, lnS); slope > leastExponent && slope < mostExponent {
			n = slope
		}
	}
	level := make([]float64, len(lnP))
	for i := range lnP {
		level[i] = lnS[i] - n*lnP[i]
	}
	a := median(level)
	for p, pt := range f.c.points {
		f.flow[p] = math.Exp(a + n*math.Log(float64(pt.Pressure)))
	}
}

func (f *family) slopesByPressure() map[int64]*slopes {
	all := map[int64]*slopes{}
	for j, cd := range f.conds {
		key := int64(math.Round(math.Log(cd.pressure) / pressureTally))
		s := all[key]
		if s == nil {
			s = &slopes{}
			all[key] = s
		}
		for i := 0; i < len(f.gain) && len(s.value) < mostPairs; i++ {
			f.addSlopes(s, f.under(i, j))
		}
	}
	return all
}

// addSlopes takes those between an injector's pulses under one condition.
func (f *family) addSlopes(s *slopes, under []int32) {
	pulse := func(n int32) unit.Time { return f.c.points[f.c.pairs.list[n].point].Pulse }
	for a, n := range under {
		for _, m := range under[a+1:] {
			apart := (pulse(m) - pulse(n)).Ms()
			if f.y[n] <= 0 || f.y[m] <= 0 || apart < apartMs {
				continue
			}
			if len(s.value) >= mostPairs {
				return
			}
			s.value = append(s.value, (f.y[m]-f.y[n])/apart)
			s.weight = append(s.weight, apart)
		}
	}
}

// flowOfLevels makes every pulse its own measure, where their lengths do not differ
// and nothing tells of dead time.
func (f *family) flowOfLevels() {
	for p, pt := range f.c.points {
		var all []float64
		for _, n := range f.c.pairs.at[p] {
			if f.y[n] > 0 {
				all = append(all, f.y[n])
			}
		}
		f.flow[p] = 1
		if m := median(all); m > 0 && pt.Pulse > 0 {
			f.flow[p] = m / pt.Pulse.Ms()
		}
	}
}

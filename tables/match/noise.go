package match

import (
	"math"
	"math/rand/v2"
	"slices"

	"injtab/tables/match/internal/pick"
)

// How the noise of the readings is played through: so many draws, always the same.
const (
	noiseDraws = 4000
	noiseSeed  = 1
)

// addNoise gives each set the interval of its true spread, and tells whether
// the readings can tell it from the next best, which is compared in the same
// draws, because the two share most injectors.
func (p *pile) addNoise(r *Result, next *pick.Group) {
	t := p.newTruth()
	if t == nil {
		return
	}
	for k := range r.Sets {
		s := &r.Sets[k]
		all := slices.Clone(s.units)
		if next != nil {
			all = append(all, next.Rows...)
			slices.Sort(all)
			all = slices.Compact(all)
		}
		spreads, better := p.draw(t, all, s.units, next)
		s.Interval = &Interval{tidy(quantile(spreads, 0.025)), tidy(quantile(spreads, 0.975))}
		if next != nil {
			other, _ := p.worst(next.Rows)
			s.NextBest = &NextBest{
				Injectors: p.ids(next.Rows), SpreadPct: other, Proof: proofWord(next.Proven()),
				BetterPct: tidy(100 * better), Distinguishable: better >= 0.975,
			}
		}
	}
}

// draw gives the set's spread in every draw, ascending, and the share of draws
// in which it is smaller than the next best's; equal counts half.
func (p *pile) draw(t *truth, all, set []int, next *pick.Group) (spreads []float64, better float64) {
	r := rand.New(rand.NewPCG(noiseSeed, noiseSeed))
	value := make([][]float64, len(p.units))
	given := make([]conditional, len(p.units))
	for _, u := range all {
		value[u] = make([]float64, len(p.points))
		given[u] = t.given(p.log[u], p.noise[u])
	}
	for range noiseDraws {
		for _, u := range all {
			given[u].draw(r, value[u])
		}
		here := worstOf(value, set, len(p.points))
		spreads = append(spreads, 100*math.Expm1(here))
		if next == nil {
			continue
		}
		switch there := worstOf(value, next.Rows, len(p.points)); {
		case here < there-1e-12:
			better += 1.0 / noiseDraws
		case here < there+1e-12:
			better += 0.5 / noiseDraws
		}
	}
	slices.Sort(spreads)
	return spreads, better
}

// worstOf is the largest range of the units' values in a column.
func worstOf(value [][]float64, units []int, columns int) (worst float64) {
	for j := range columns {
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, u := range units {
			lo, hi = min(lo, value[u][j]), max(hi, value[u][j])
		}
		worst = max(worst, hi-lo)
	}
	return worst
}

// quantile is that of sorted values, linear between them.
func quantile(sorted []float64, q float64) float64 {
	at := q * float64(len(sorted)-1)
	i := int(at)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i])
}

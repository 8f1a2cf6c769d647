package tables

import (
	"math"

	"injtab/fit/diag"
)

// A Gain is what choosing breakpoints is worth against as many evenly spaced ones: the
// worst miss of straight lines between them.
type Gain struct {
	Table      string  `json:"table"`
	Axis       string  `json:"axis"`
	Count      int     `json:"count"`
	ChosenMiss float64 `json:"chosen_miss"`
	EvenMiss   float64 `json:"even_miss"`
	Unit       string  `json:"unit"`
}

// choose gives the breakpoints of an axis with the profile's weights, and notes what
// the choice gains; of breakpoints that were given it tells where they are too coarse.
func (b *builder) choose(a AxisSpec, n need, f sampled) []float64 {
	f = b.weighted(n.axis, f)
	out := a.choose(n, f)
	if len(out) < 3 {
		return out
	}
	g := Gain{Table: n.table, Axis: n.axis, Count: len(out), Unit: n.unit}
	exact := newExact(out[0], out[len(out)-1], f)
	g.ChosenMiss = exact.miss(out)
	if a.Values == nil {
		g.EvenMiss = exact.miss(spaced(out[0], out[len(out)-1], len(out)))
		b.gains = append(b.gains, g)
		return out
	}
	n.lo, n.hi = out[0], out[len(out)-1]
	better := AxisSpec{Count: len(out), Round: a.Round}.choose(n, f)
	if best := exact.miss(better); g.ChosenMiss > coarse[n.unit] && g.ChosenMiss > 2*best {
		b.notes = append(b.notes, diag.Warn("coarse_axis", "table %s: straight lines between the breakpoints given over %s miss by up to %s; as many chosen ones would miss by %s",
			n.table, n.axis, missWords(g.ChosenMiss, n.unit), missWords(best, n.unit)))
	}
	return out
}

// Units of a miss.
const (
	inTime = "ms"
	inFlow = "part of the flow"
	inFuel = "part of the delivered fuel"
	inPct  = "%"
)

// coarse is the miss from which breakpoints are called too coarse: 20 µs are 1 % of a
// pulse of 2 ms (common practice, no source).
var coarse = map[string]float64{inTime: 0.02, inFlow: 0.01, inFuel: 0.01, inPct: 1}

// negligible is a miss that no ECU and no bench can tell: half the last digit that
// tables are written with, or as little beside their uncertainty.
var negligible = map[string]float64{inTime: 0.0005, inFlow: 0.0002, inFuel: 0.0005, inPct: 0.02}

// exact holds the functions at many places, to ask how far straight lines miss them.
type exact struct {
	f       sampled
	at      []float64
	rows    [][]float64
	weights []float64
}

func newExact(lo, hi float64, f sampled) exact {
	e := exact{f: f, at: spaced(lo, hi, 160)}
	e.rows, e.weights = f(e.at)
	return e
}

// miss is the worst weighted miss of straight lines between the nodes, where the
// functions have a value.
func (e exact) miss(nodes []float64) (worst float64) {
	rows, _ := e.f(nodes)
	for r := range e.rows {
		for i, x := range e.at {
			off := math.Abs(interpolate(nodes, rows[r], x) - e.rows[r][i])
			if e.weights != nil {
				off *= e.weights[i]
			}
			if off > worst { // never so where there is no value
				worst = off
			}
		}
	}
	return worst
}

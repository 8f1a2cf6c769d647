package tables

import (
	"math"

	"injtab/fit"
	"injtab/fit/diag"
	"injtab/fit/unit"
)

// The supply voltages in V that an engine runs at: trims that are one number for
// all voltages are best there (common practice, no source).
const (
	runningFrom = 12.0
	runningTo   = 15.0
)

// trims is the table of what each injector needs beside the mean of all: three
// forms, one used at a time.
func (b *builder) trims(set Set) Table {
	t := Table{
		Name: "trims", Title: "Trims", Corner: "cylinder",
		About: "What each injector needs beside the mean one, in three forms; use one: the percentage alone, or the percentage with the added time, or the percentage with the dead-time factor. Positive: a longer pulse.",
		Row:   Column{Name: "cylinder", Title: "Cylinder", Text: true, About: "Cylinder it is seated in; empty where none is assigned."},
		Cols: []Column{
			{Name: "injector", Title: "Injector", Text: true, About: "What is written on it."},
			{Name: "flow_only_trim_pct", Title: "Percentage alone", Unit: "%", UCUM: "%", Decimals: 2, About: "Trim of the effective pulse where the ECU takes nothing else: least worst error over the working range."},
			{Name: "flow_trim_pct", Title: "Percentage", Unit: "%", UCUM: "%", Decimals: 2, About: "Trim of the effective pulse, used with the added time."},
			{Name: "dead_time_trim_ms", Title: "Added time", Unit: "ms", UCUM: "ms", Decimals: b.stepDigits(), About: "Added to the dead time."},
			{Name: "factor_flow_trim_pct", Title: "Percentage with factor", Unit: "%", UCUM: "%", Decimals: 2, About: "Trim of the effective pulse, used with the dead-time factor."},
			{Name: "dead_time_factor", Title: "Dead-time factor", UCUM: "1", Decimals: 4, About: "The dead time is multiplied by it."},
		},
	}
	hidden := 0
	for _, g := range b.seated() {
		row, small := b.trimRow(g)
		hidden += small
		t.RowText = append(t.RowText, b.cylinder(g))
		t.Cells = append(t.Cells, row)
	}
	if hidden > 0 {
		t.Notes = append(t.Notes, diag.Warn("trim_below_noise", "%d trims are smaller than their own uncertainty and shown as zero; --raw-trims shows them as fitted", hidden))
	}
	return t
}

func (b *builder) cylinder(g int) string {
	if c := b.o.Cylinders[b.m.Members[g].ID]; c > 0 {
		return number(float64(c))
	}
	return ""
}

// seated orders the injectors by cylinder; those without one follow as they are.
func (b *builder) seated() fit.Who {
	out := append(fit.Who{}, b.who...)
	rank := func(g int) int {
		if c := b.o.Cylinders[b.m.Members[g].ID]; c > 0 {
			return c
		}
		return math.MaxInt
	}
	sortBy(out, rank)
	return out
}

func (b *builder) trimRow(g int) (row []Cell, small int) {
	flow := b.m.FlowDifference(g, b.who)
	dead := b.m.DeadTimeDifference(g, b.who, b.refP, b.refV)
	pct := 100 * (math.Exp(-flow.Value) - 1)
	// The mean injector's flow is the mean of flows, not of logarithms.
	pct += 100 * (b.meanRatio() - 1)
	pctCI, timeMs, timeCI := 100*flow.CI95(), b.runningTime(g), dead.CI95()
	factor, factorCI := b.runningFactor(g), dead.CI95()/b.meanDead(b.refP.KPa(), b.refV.V())
	alone := b.flowOnly(g)
	if !b.o.RawTrims {
		hide := func(x *float64, neutral, ci float64) {
			if math.Abs(*x-neutral) < ci && math.Abs(*x-neutral) > 0 {
				*x = neutral
				small++
			}
		}
		hide(&timeMs, 0, timeCI)
		hide(&factor, 1, factorCI)
		hide(&alone, 0, pctCI)
		hide(&pct, 0, pctCI)
	}
	value := func(x, ci float64, digits int) Cell {
		return Cell{Value: round(x, digits), CI95: ci, Basis: dead.Basis}
	}
	return []Cell{
		{Text: b.m.Members[g].ID},
		value(alone, pctCI, 2), value(pct, pctCI, 2), value(b.toStep(timeMs), timeCI, 6),
		value(pct, pctCI, 2), value(factor, factorCI, 4),
	}, small
}

// meanRatio is the mean flow over the flow of the mean logarithm.
func (b *builder) meanRatio() float64 {
	sum, logs := 0.0, 0.0
	for _, g := range b.who {
		f := b.m.FlowOf(g, b.refP)
		sum += f / float64(len(b.who))
		logs += math.Log(f) / float64(len(b.who))
	}
	return sum / math.Exp(logs)
}

// runningConditions are the pressures and voltages inside the measured region at
// which an engine runs; the reference condition where there is nothing else.
func (b *builder) runningConditions(vlo, vhi float64, np, nv int) (out [][2]float64) {
	vs, ps := b.m.Voltages(), b.m.Pressures()
	lo, hi := math.Max(vlo, vs[0]), math.Min(vhi, vs[len(vs)-1])
	if lo > hi {
		lo, hi = b.refV.V(), b.refV.V()
	}
	for _, p := range spaced(ps[0], ps[len(ps)-1], np) {
		for _, v := range spaced(lo, hi, nv) {
			out = append(out, [2]float64{p, v})
		}
	}
	return out
}

// runningTime is the added time in ms that serves best over running conditions:
// the middle of the largest and the smallest that are needed.
func (b *builder) runningTime(g int) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, c := range b.runningConditions(runningFrom, runningTo, 4, 7) {
		d := b.m.DeadTimeOf(g, unit.KPa(c[0]), unit.Volts(c[1])) - b.meanDead(c[0], c[1])
		if !math.IsNaN(d) {
			lo, hi = math.Min(lo, d), math.Max(hi, d)
		}
	}
	if lo > hi {
		return 0
	}
	return (lo + hi) / 2
}

// runningFactor is the dead-time factor that serves best over all measured
// voltages: least squares of the injector's dead time on the mean one.
func (b *builder) runningFactor(g int) float64 {
	var xy, xx float64
	for _, c := range b.runningConditions(0, math.Inf(1), 4, 7) {
		x, y := b.meanDead(c[0], c[1]), b.m.DeadTimeOf(g, unit.KPa(c[0]), unit.Volts(c[1]))
		if !math.IsNaN(x) && !math.IsNaN(y) {
			xy, xx = xy+x*y, xx+x*x
		}
	}
	if xx <= 0 {
		return 1
	}
	return xy / xx
}

// flowOnly is the percentage that alone leaves the least worst error in delivered
// fuel over the working range of pulses at the reference condition.
func (b *builder) flowOnly(g int) float64 {
	lo, hi := b.workingRange()
	ratio := b.m.FlowOf(g, b.refP) / (b.m.Flow(b.who, b.refP).Value)
	shift := b.meanDead(b.refP.KPa(), b.refV.V()) - b.m.DeadTimeOf(g, b.refP, b.refV)
	worst := func(trim float64) float64 {
		miss := 0.0
		for _, u := range []float64{lo, hi} {
			miss = math.Max(miss, math.Abs(ratio*(u*(1+trim)+shift)/u-1))
		}
		return miss
	}
	return 100 * least(worst, -0.6, 1.5)
}

// least finds the place of the minimum of a function with one valley, by ternary
// search.
func least(f func(float64) float64, lo, hi float64) float64 {
	for range 100 {
		a, c := lo+(hi-lo)/3, hi-(hi-lo)/3
		if f(a) < f(c) {
			hi = c
		} else {
			lo = a
		}
	}
	return (lo + hi) / 2
}

// workingRange is the effective pulses in ms over which trims are judged: the
// linear range of the readings, 2 ms upwards where they go further.
func (b *builder) workingRange() (lo, hi float64) {
	lo, hi = b.shortRange()
	return math.Min(math.Max(lo, 1.5), hi), hi
}

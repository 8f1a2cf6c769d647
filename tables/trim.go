package tables

import (
	"fmt"
	"math"
	"strings"

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
func (b *builder) trims() Table {
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
	hidden := hiding{raw: b.o.RawTrims}
	flow, dead, mean := b.m.FlowDifferences(b.who), b.m.DeadTimeDifferences(b.who, b.refP, b.refV), b.newTrimBase()
	for _, g := range b.seated() {
		t.RowText = append(t.RowText, b.cylinder(g))
		t.Cells = append(t.Cells, b.trimRow(g, flow(g), dead(g), mean, &hidden))
	}
	t.Notes = hidden.note(len(b.who))
	return t
}

// trimBelowNoise is the code of the note on trims that are shown as none.
const trimBelowNoise = "trim_below_noise"

// A hiding shows trims that are smaller than their own uncertainty as none, and counts
// them by column.
type hiding struct {
	raw     bool
	columns []string
	count   map[string]int
}

// of gives the trim to show: neutral is the value of none.
func (h *hiding) of(column string, x, neutral, ci float64) float64 {
	if h.raw || math.Abs(x-neutral) >= ci {
		return x
	}
	if h.count == nil {
		h.count = map[string]int{}
	}
	if h.count[column]++; h.count[column] == 1 {
		h.columns = append(h.columns, column)
	}
	return neutral
}

func (h *hiding) note(of int) []diag.Note {
	if len(h.columns) == 0 {
		return nil
	}
	var parts []string
	for _, c := range h.columns {
		parts = append(parts, fmt.Sprintf("%s: %d of %d", c, h.count[c], of))
	}
	return []diag.Note{diag.Warn(trimBelowNoise, "trims smaller than their own uncertainty are shown as none (%s); --raw-trims shows them as fitted", strings.Join(parts, ", "))}
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

// A trimBase is what the trims of all injectors are told from.
type trimBase struct {
	flow, dead float64  // of the mean injector at the reference condition, ml/min and ms
	lo, hi     float64  // working range of effective pulses, ms
	running    []meanAt // at running voltages
	measured   []meanAt // at all voltages
}

// A meanAt is the mean injector's dead time in ms at a pressure and voltage.
type meanAt struct {
	p    unit.Pressure
	v    unit.Voltage
	dead float64
}

func (b *builder) newTrimBase() trimBase {
	t := trimBase{flow: b.meanFlow(b.refP.KPa()), dead: b.meanDead(b.refP.KPa(), b.refV.V())}
	t.lo, t.hi = b.workingRange()
	t.running, t.measured = b.meansAt(runningFrom, runningTo), b.meansAt(0, math.Inf(1))
	return t
}

func (b *builder) trimRow(g int, flow, dead fit.Estimate, mean trimBase, hidden *hiding) []Cell {
	ratio, shift := b.m.FlowOf(g, b.refP)*b.factor/mean.flow, b.runningShift(g, mean)
	pct, pctCI := 100*(1/ratio-1), 100*flow.CI95()
	alone, aloneCI := flowOnly(ratio, shift, mean), math.Hypot(pctCI, 100*dead.CI95()*(1/mean.lo+1/mean.hi)/2)
	timeCI, factorCI := dead.CI95(), 0.0
	if mean.dead > 0 { // else there is nothing to multiply
		factorCI = dead.CI95() / mean.dead
	}
	value := func(column string, x, neutral, ci float64) Cell {
		return Cell{Value: hidden.of(column, x, neutral, ci), CI95: ci, Basis: dead.Basis}
	}
	return []Cell{
		{Text: b.m.Members[g].ID},
		value("flow_only_trim_pct", alone, 0, aloneCI),
		value("flow_trim_pct", pct, 0, pctCI), value("dead_time_trim_ms", shift.middle(), 0, timeCI),
		value("factor_flow_trim_pct", pct, 0, pctCI), value("dead_time_factor", b.runningFactor(g, mean), 1, factorCI),
	}
}

// runningConditions are np pressures and nv voltages, as kPa and V, inside the measured
// region at which an engine runs; the reference condition where there is nothing else.
func (b *builder) runningConditions(vlo, vhi float64, np, nv int) (out [][2]float64) {
	vs, ps := b.m.Voltages(), b.m.Pressures()
	lo, hi := math.Max(vlo, vs[0]), math.Min(vhi, vs[len(vs)-1])
	if lo > hi {
		lo, hi = b.refV.V(), b.refV.V()
	}
	for _, p := range apart(ps[0], ps[len(ps)-1], np) {
		for _, v := range apart(lo, hi, nv) {
			out = append(out, [2]float64{p, v})
		}
	}
	return out
}

// apart are n places from lo to hi, or the one there is.
func apart(lo, hi float64, n int) []float64 {
	if hi-lo < 1e-9 {
		n = 1
	}
	return spaced(lo, hi, n)
}

// meansAt are the running conditions with what the mean injector needs there, where all
// open.
func (b *builder) meansAt(vlo, vhi float64) (out []meanAt) {
	for _, c := range b.runningConditions(vlo, vhi, 4, 7) {
		if dead := b.meanDead(c[0], c[1]); !math.IsNaN(dead) {
			out = append(out, meanAt{unit.KPa(c[0]), unit.Volts(c[1]), dead})
		}
	}
	return out
}

// deadTimes calls f with the mean dead time and the injector's own, in ms, at each of
// some conditions where it opens.
func (b *builder) deadTimes(g int, at []meanAt, f func(mean, own float64)) {
	for _, c := range at {
		if own := b.m.DeadTimeOf(g, c.p, c.v); !math.IsNaN(own) {
			f(c.dead, own)
		}
	}
}

// runningShift is how far the injector's dead time lies from the mean one over running
// conditions, in ms: the added time that serves best is the middle.
func (b *builder) runningShift(g int, base trimBase) (r reach) {
	b.deadTimes(g, base.running, func(mean, own float64) { r.take(own - mean) })
	return r
}

// runningFactor is the dead-time factor that serves best over all measured
// voltages: least squares of the injector's dead time on the mean one.
func (b *builder) runningFactor(g int, base trimBase) float64 {
	var xy, xx float64
	b.deadTimes(g, base.measured, func(mean, own float64) { xy, xx = xy+mean*own, xx+mean*mean })
	if xx <= 0 {
		return 1
	}
	return xy / xx
}

// flowOnly is the percentage that alone leaves the least worst error in delivered
// fuel over the working range of pulses and the running conditions, for an injector
// whose flow has this ratio to the mean one's and whose dead time is shifted so. With a
// trim x it delivers ratio·(1 + x − shift/u) of what is wanted: so 1 + x − shift/u must
// lie evenly about 1/ratio.
func flowOnly(ratio float64, shift reach, base trimBase) float64 {
	var r reach
	for _, ms := range []float64{shift.lo, shift.hi} {
		r.take(-ms / base.lo)
		r.take(-ms / base.hi)
	}
	return 100 * (1/ratio - 1 - r.middle())
}

// A reach is how far some numbers reach.
type reach struct {
	lo, hi float64
	some   bool
}

func (r *reach) take(x float64) {
	if !r.some {
		r.lo, r.hi, r.some = x, x, true
	}
	r.lo, r.hi = math.Min(r.lo, x), math.Max(r.hi, x)
}

// middle is 0 where there are none.
func (r reach) middle() float64 { return (r.lo + r.hi) / 2 }

// workingRange is the effective pulses in ms over which trims are judged: the
// linear range of the readings, 1.5 ms upwards where they go further.
func (b *builder) workingRange() (lo, hi float64) {
	lo, hi = b.shortRange()
	return math.Min(math.Max(lo, 1.5), hi), hi
}

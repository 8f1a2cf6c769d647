package tables

import (
	"cmp"
	"math"
	"slices"

	"injtab/fit"
	"injtab/fit/unit"
)

func sortBy(who fit.Who, rank func(int) int) {
	slices.SortStableFunc(who, func(a, b int) int { return cmp.Compare(rank(a), rank(b)) })
}

// trimsByPulse is the fourth form: a percentage at each effective pulse that makes
// the injector deliver what the mean one would, at the reference condition.
func (b *builder) trimsByPulse() Table {
	at := b.pulseColumns()
	t := grid("trims_by_pulse", "Trims by pulse", Column{Name: "injector", Title: "Injector", Text: true, About: "What is written on it."}, nil,
		effectiveColumn(), at, Column{Unit: "%", UCUM: "%", Decimals: 2, About: "Trim of the effective pulse."})
	t.Corner = "injector"
	t.About = "A fourth form of the trims: a percentage looked up at the effective pulse, with no other trim beside it."
	hidden := hiding{raw: b.o.RawTrims}
	flowOf, deadOf := b.m.FlowDifferences(b.who), b.m.DeadTimeDifferences(b.who, b.refP, b.refV)
	for _, g := range b.seated() {
		t.RowText = append(t.RowText, b.m.Members[g].ID)
		ci := 100 * flowOf(g).CI95()
		dead := deadOf(g)
		row := make([]Cell, len(at))
		for i, x := range sample(b.pulseTrim(g), at) {
			half := math.Hypot(ci, 100*dead.CI95()/at[i])
			row[i] = Cell{Value: hidden.of(t.Cols[i].Title, x, 0, half), CI95: half, Basis: dead.Basis}
		}
		t.Cells = append(t.Cells, row)
	}
	t.Notes = hidden.note(len(b.who))
	return t
}

// Below leastTrimPulse, in ms effective, a difference in dead time is most of the fuel
// and no percentage holds from shot to shot; where an axis is given that goes there,
// trims are kept within what an ECU takes, in per cent (common practice, no source).
const (
	leastTrimPulse                = 0.4
	leastPulseTrim, mostPulseTrim = -80.0, 200.0
)

// pulseColumns chooses the pulses between which straight lines follow all trims best:
// a difference in dead time shows as 1/u.
func (b *builder) pulseColumns() []float64 {
	n := b.pulseNeed("trims_by_pulse", inPct, mostTrimPulses)
	n.lo = math.Min(math.Max(n.lo, leastTrimPulse), n.hi)
	return b.choose(b.o.Pulse, n, func(at []float64) (rows [][]float64, weights []float64) {
		for _, g := range few(b.who) {
			rows = append(rows, sample(b.pulseTrim(g), at))
		}
		return rows, nil
	})
}

// pulseTrim gives the percentage over the effective pulse in ms: the pulse that
// injector g needs for the mean injector's volume, turned back through the mean
// injector's curves.
func (b *builder) pulseTrim(g int) func(u float64) float64 {
	flow, dead := b.meanFlow(b.refP.KPa())/b.factor, b.meanDead(b.refP.KPa(), b.refV.V())
	bend := b.m.BendAt(b.refV)
	return func(u float64) float64 {
		need := b.m.PulseOf(g, unit.Ml(u*flow/60000), b.refP, b.refV)
		if math.IsNaN(need) {
			return 0
		}
		// uc + correction(uc) is the open time that is left after the mean dead time.
		trim := 100 * (bend.Effective(need-dead, dead)/u - 1)
		return math.Min(math.Max(trim, leastPulseTrim), mostPulseTrim)
	}
}

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
func (b *builder) trimsByPulse(set Set) Table {
	short, _ := set.Find("short_pulse")
	lo, hi := short.RowAt[0], short.RowAt[len(short.RowAt)-1]
	at := b.pulseColumns(lo, hi)
	t := grid("trims_by_pulse", "Trims by pulse", Column{Name: "injector", Title: "Injector", Text: true, About: "What is written on it."}, nil,
		effectiveColumn(), at, Column{Unit: "%", UCUM: "%", Decimals: 2, About: "Trim of the effective pulse."})
	t.Corner = "injector"
	t.About = "A fourth form of the trims: a percentage looked up at the effective pulse, with no other trim beside it."
	for _, g := range b.seated() {
		t.RowText = append(t.RowText, b.m.Members[g].ID)
		ci := 100 * b.m.FlowDifference(g, b.who).CI95()
		dead := b.m.DeadTimeDifference(g, b.who, b.refP, b.refV)
		var row []Cell
		for _, u := range at {
			x := b.pulseTrim(g, u)
			half := math.Hypot(ci, 100*dead.CI95()/u)
			if !b.o.RawTrims && math.Abs(x) < half {
				x = 0
			}
			row = append(row, Cell{Value: round(x, 2), CI95: half, Basis: dead.Basis})
		}
		t.Cells = append(t.Cells, row)
	}
	return t
}

// mostTrimPulses is the number of columns chosen for the trims by pulse.
const mostTrimPulses = 10

// pulseColumns chooses the pulses between which straight lines follow all trims best:
// a difference in dead time shows as 1/u.
func (b *builder) pulseColumns(lo, hi float64) []float64 {
	return b.choose(b.o.Pulse, lo, hi, 0.02, mostTrimPulses, Gain{Table: "trims_by_pulse", Axis: "effective_ms", Unit: "%"}, func(at []float64) (rows [][]float64, weights []float64) {
		for _, g := range b.who {
			row := make([]float64, len(at))
			for i, u := range at {
				row[i] = b.pulseTrim(g, u)
			}
			rows = append(rows, row)
		}
		return rows, nil
	})
}

// pulseTrim solves for the percentage: the pulse that injector g needs for the
// mean injector's volume at u, turned back through the mean injector's curves.
func (b *builder) pulseTrim(g int, u float64) float64 {
	flow, dead := b.m.Flow(b.who, b.refP).Value, b.meanDead(b.refP.KPa(), b.refV.V())
	need := b.m.PulseOf(g, unit.Ml(u*flow/60000), b.refP, b.refV)
	if math.IsNaN(need) {
		return 0
	}
	// uc + correction(uc) is the open time that is left after the mean dead time.
	return 100 * (b.m.EffectiveOf(need-dead, dead, b.refV.V())/u - 1)
}

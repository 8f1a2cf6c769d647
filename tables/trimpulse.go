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

// pulseColumns spreads at most eight pulses so that 1/u, which a difference in
// dead time follows, is evenly covered.
func (b *builder) pulseColumns(lo, hi float64) []float64 {
	if b.o.Pulse.Values != nil {
		return b.o.Pulse.Values
	}
	const n = 8
	var out []float64
	for i := range n {
		f := float64(i) / (n - 1)
		u := 1 / ((1-f)/lo + f/hi)
		if x := round(u, 2); len(out) == 0 || x > out[len(out)-1] {
			out = append(out, x)
		}
	}
	return out
}

// pulseTrim solves for the percentage: the pulse that injector g needs for the
// mean injector's volume at u, turned back through the mean injector's curves.
func (b *builder) pulseTrim(g int, u float64) float64 {
	flow, dead := b.m.Flow(b.who, b.refP).Value, b.meanDead(b.refP.KPa(), b.refV.V())
	need := b.m.PulseOf(g, unit.Ml(u*flow/60000), b.refP, b.refV)
	if math.IsNaN(need) {
		return 0
	}
	// uc + correction(uc) + dead = need; the left side rises with uc.
	lo, hi := 0.2*u, 3*u
	for range 60 {
		uc := (lo + hi) / 2
		if uc+b.correction(uc, b.refV.V()).Value+dead < need {
			lo = uc
		} else {
			hi = uc
		}
	}
	return 100 * ((lo+hi)/2/u - 1)
}

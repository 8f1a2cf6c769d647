package match

import (
	"context"
	"fmt"
	"math"
	"slices"

	"injtab/fit/bench"
	"injtab/fit/diag"
	"injtab/tables/match/internal/pick"
)

// tolerance is Within in millionths of the logarithm, and one for rounding.
func (p *pile) tolerance() int32 {
	return int32(min(math.Round(1e6*math.Log1p(float64(p.Within)))+1, pick.MaxCoordinate))
}

// addSpares gives each set the injectors left that fit it best: whichever
// injector fails, the set with the spare spreads no more than with both.
func (p *pile) addSpares(r *Result) {
	if p.Spares == 0 {
		return
	}
	var used []int
	for _, s := range r.Sets {
		used = append(used, s.units...)
	}
	for k := range r.Sets {
		s := &r.Sets[k]
		others := slices.DeleteFunc(slices.Clone(used), func(u int) bool { return slices.Contains(s.units, u) })
		fits := pick.Joining(p.matrix, s.units, others)
		if len(fits) < p.Spares {
			r.notes = append(r.notes, diag.Warn("few-spares", "%s gets %s of the %d asked for: no more injectors are left.",
				capital(s.Name), counted(len(fits), "spare"), p.Spares))
		}
		for _, f := range fits[:min(p.Spares, len(fits))] {
			s.Spares = append(s.Spares, p.fit(s.units, f.Row))
			used = append(used, f.Row)
		}
	}
}

// fit is what the units spread with one more.
func (p *pile) fit(units []int, u int) Fit {
	spread, _ := p.worst(append(slices.Clone(units), u))
	return Fit{Injector: id(p.c, p.units[u]), SpreadPct: spread}
}

// mostReplacements is how many injectors are named for the place of a failed one.
const mostReplacements = 5

func (p *pile) addReplacements(r *Result) {
	if p.failed < 0 {
		return
	}
	fits := pick.Joining(p.matrix, p.kept, nil)
	for _, f := range fits[:min(mostReplacements, len(fits))] {
		r.Replacements = append(r.Replacements, p.fit(p.kept, f.Row))
	}
}

// What it takes to tell for each injector left out what taking it would cost.
const (
	mostExplained = 200
	explainWork   = 400_000_000
)

// addLeftOut lists the injectors in no set with the reason, in natural order.
func (p *pile) addLeftOut(ctx context.Context, r *Result) {
	in := make([]bool, len(p.units))
	for _, s := range r.Sets {
		for _, u := range s.units {
			in[u] = true
		}
	}
	r.LeftOut = append(r.LeftOut, p.left...)
	reasons := p.reasons(ctx, r)
	for u := range p.units {
		if !in[u] {
			r.LeftOut = append(r.LeftOut, LeftOut{id(p.c, p.units[u]), reasons(u)})
		}
	}
	slices.SortFunc(r.LeftOut, func(a, b LeftOut) int { return bench.CompareNatural(a.Injector, b.Injector) })
}

// reasons tells why a usable injector is in no set: what the best set with it
// would spread, where that is worked out.
func (p *pile) reasons(ctx context.Context, r *Result) func(unit int) string {
	if len(r.Sets) == 0 {
		return func(int) string { return fmt.Sprintf("usable, but no set is within %s", pct(p.Within.Pct())) }
	}
	plain := func(u int) string {
		return "usable; with it instead of the injector it comes nearest to, " + r.Sets[0].Name + " would spread " + pct(p.exchanged(r.Sets[0].units, u))
	}
	if len(r.Sets) > 1 || len(p.kept) == p.Of || len(p.units) > mostExplained || p.weighted() {
		return plain
	}
	alone, proven := pick.Alone(p.matrix, p.Of, p.kept, nil, pick.NewMeter(ctx, explainWork))
	if !proven {
		return plain
	}
	return func(u int) string {
		return fmt.Sprintf("usable; the best set with it spreads %s, the best of all %s", pct(fromMillionths(alone[u])), pct(r.Sets[0].SpreadPct))
	}
}

// exchanged is the smallest spread of the units with u in place of one that is
// not kept.
func (p *pile) exchanged(units []int, u int) float64 {
	best := math.Inf(1)
	for at := range units {
		if slices.Contains(p.kept, units[at]) {
			continue
		}
		other := slices.Clone(units)
		other[at] = u
		spread, _ := p.worst(other)
		best = min(best, spread)
	}
	if math.IsInf(best, 1) { // all are kept
		best, _ = p.worst(append(slices.Clone(units), u))
	}
	return best
}

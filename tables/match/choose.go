// Package match chooses, from the injectors measured, the sets that agree best
// over all points, and seats them in the engine. What it says is proven, or
// comes with a proven bound: it never passes a good guess off as the best.
//
// The spread of a set at a point is its largest delivery ÷ its smallest − 1; a
// set is as good as the worst of its spreads. Readings are compared as measured,
// per shot, the mean of repeats; no model comes in. Logarithms of the deliveries
// are rounded to millionths, so a spread below is exact to 0.0001 per cent.
package match

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"injtab/fit/bench"
	"injtab/fit/diag"
	"injtab/tables/match/internal/pick"
)

// Choose chooses the sets that o asks for. It stops early when ctx is done or
// the time limit is over, and then tells what is proven so far. The error is a
// sentence on what was asked for and can't be had.
func Choose(ctx context.Context, c bench.Checked, o Options) (Result, error) {
	request, err := read(c, o)
	if err != nil {
		return Result{}, err
	}
	engine, err := newEngine(request)
	if err != nil {
		return Result{}, err
	}
	p, err := newPile(c, request)
	if err != nil {
		return Result{}, err
	}
	work := int64(defaultWork)
	if o.TimeLimit > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, o.TimeLimit)
		defer cancel()
		work = 1 << 60
	}
	found := p.search(pick.NewMeter(ctx, work))
	return p.result(ctx, found, engine), nil
}

// An outcome is what a search found, in units of the pile.
type outcome struct {
	objective string
	groups    [][]int
	worst     int32 // of all groups, weighted, in millionths
	lower     int32
	most      int
	proven    bool
	notes     []diag.Note
	next      *pick.Group
}

func (p *pile) search(m *pick.Meter) outcome {
	switch {
	case p.Aim == MostSets && p.Within > 0:
		return p.mostSets(m)
	case p.Aim == MostSets:
		p.Sets = len(p.units) / p.Of
		return p.worstSet(m)
	case p.Sets == 1:
		return p.oneSet(m)
	case p.Aim == BestFirst:
		return p.bestFirst(m)
	}
	return p.worstSet(m)
}

func (p *pile) oneSet(m *pick.Meter) outcome {
	g := pick.Best(p.matrix, p.Of, p.kept, nil, m)
	o := outcome{objective: "best set", groups: [][]int{g.Rows}, worst: g.Worst, lower: g.Lower, most: 1, proven: g.Proven()}
	if g.Proven() && !g.Unique {
		o.notes = append(o.notes, cutShort())
	}
	if next, ok := pick.NextBest(p.matrix, g.Rows, p.kept, nil, m); ok {
		o.next = &next
	}
	return o
}

func cutShort() diag.Note {
	return diag.Warn("ties-not-searched", "No set has a better worst point, but others may be equal in it and better in the next: the search among them was cut short.")
}

func (p *pile) bestFirst(m *pick.Meter) outcome {
	o := outcome{objective: BestFirst.String(), most: p.Sets, proven: true}
	for _, g := range pick.InTurn(p.matrix, p.Of, p.Sets, p.kept, nil, m) {
		o.groups = append(o.groups, g.Rows)
		o.worst = max(o.worst, g.Worst)
		o.proven = o.proven && g.Proven()
		if g.Proven() && !g.Unique && len(o.notes) == 0 {
			o.notes = append(o.notes, cutShort())
		}
	}
	o.lower = pick.LowerBound(p.matrix, p.Of, p.Sets, o.worst, p.kept, nil, m)
	return o
}

func (p *pile) worstSet(m *pick.Meter) outcome {
	d := pick.Divide(p.matrix, p.Of, p.Sets, p.kept, nil, m)
	return outcome{objective: WorstSet.String(), groups: d.Groups, worst: d.Worst, lower: d.Lower, most: p.Sets, proven: d.Proven()}
}

func (p *pile) mostSets(m *pick.Meter) outcome {
	d := pick.MostGroups(p.matrix, p.Of, p.tolerance(), p.kept, nil, m)
	o := outcome{objective: MostSets.String(), groups: d.Groups, worst: d.Worst, lower: d.Lower, most: d.Most,
		proven: len(d.Groups) == d.Most && d.Proven()}
	if len(d.Groups) == 0 {
		best := pick.Best(p.matrix, p.Of, p.kept[:min(len(p.kept), p.Of)], nil, m)
		o.worst, o.lower = best.Worst, best.Lower
		o.notes = append(o.notes, diag.Warn("no-set-within", "No set of %d is within %s: the best that was found spreads %s.",
			p.Of, pct(p.Within.Pct()), pct(fromMillionths(best.Worst))))
	}
	return o
}

// result words an outcome.
func (p *pile) result(ctx context.Context, o outcome, e *engine) Result {
	r := Result{
		Objective: o.objective, Proof: proofWord(o.proven), MostSets: o.most,
		Sets: []Set{}, LeftOut: []LeftOut{}, Points: []Point{}, Unused: []UnusedPoint{}, Warnings: []string{},
		pile: p, notes: append(p.notes, o.notes...),
	}
	for _, point := range p.points {
		r.Points = append(r.Points, newPoint(p.c.Points()[point]))
	}
	r.Unused = append(r.Unused, p.unused...)
	for k, g := range o.groups {
		r.Sets = append(r.Sets, p.set(fmt.Sprintf("set %d", k+1), g))
	}
	r.bound(o)
	p.addNoise(&r, o.next)
	p.addSpares(&r)
	p.addReplacements(&r)
	p.addSeats(ctx, &r, e)
	p.addLeftOut(ctx, &r)
	r.judgeTolerance()
	for _, n := range r.notes {
		r.Warnings = append(r.Warnings, n.Message)
	}
	return r
}

// bound fills in what is proven. Where the best is proven, the bound is the
// worst spread itself, which rounding to millionths would shift.
func (r *Result) bound(o outcome) {
	r.BoundPct = fromMillionths(o.lower)
	worst := 0.0
	for _, s := range r.Sets {
		worst = max(worst, s.SpreadPct)
	}
	if len(r.Sets) > 0 && (r.BoundPct > worst || o.lower >= o.worst && !r.pile.weighted()) {
		r.BoundPct = worst
	}
	if o.worst > o.lower {
		r.GapPct = tidy(100 * float64(o.worst-o.lower) / float64(o.worst))
	}
	if !o.proven {
		r.notes = append(r.notes, diag.Warn("not-proven", "The search was stopped before it was through: nothing better than %s is possible, and that much may not be. More time (--time-limit) may bring better sets or the proof.", pct(r.BoundPct)))
	}
	for i := range r.Sets {
		r.Sets[i].Proof, r.Sets[i].BoundPct = r.Proof, r.BoundPct
	}
}

// weighted tells whether points count differently.
func (p *pile) weighted() bool {
	return slices.ContainsFunc(p.weight, func(w float64) bool { return w < 1 })
}

// set words one group.
func (p *pile) set(name string, units []int) Set {
	s := Set{Name: name, Injectors: p.ids(units), Spares: []Fit{}, Seats: []Seat{}, units: units}
	for j, point := range p.points {
		s.ByPoint = append(s.ByPoint, PointSpread{newPoint(p.c.Points()[point]), p.spread(units, j), p.weight[j]})
	}
	pct, column := p.worst(units)
	s.SpreadPct = pct
	byLog := func(a, b int) int { return cmp.Compare(p.log[a][column], p.log[b][column]) }
	s.Limit = Limit{
		Point: s.ByPoint[column].Point,
		Most:  p.ids([]int{slices.MaxFunc(units, byLog)})[0],
		Least: p.ids([]int{slices.MinFunc(units, byLog)})[0],
	}
	return s
}

// judgeTolerance says which sets are beyond the tolerance asked for.
func (r *Result) judgeTolerance() {
	p := r.pile
	if p.Within <= 0 || p.Aim == MostSets {
		return
	}
	for _, s := range r.Sets {
		if s.SpreadPct > p.Within.Pct()*(1+1e-9) {
			r.notes = append(r.notes, diag.Warn("beyond-tolerance", "%s spreads %s, more than the %s asked for.", capital(s.Name), pct(s.SpreadPct), pct(p.Within.Pct())))
		}
	}
}

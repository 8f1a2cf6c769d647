package match

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"injtab/fit/bench"
	"injtab/fit/diag"
	"injtab/tables"
	"injtab/tables/match/internal/pick"
)

// A pile is the injectors to choose from and the points to compare them at.
// Units are its injectors, columns its points.
type pile struct {
	request
	c      bench.Checked
	units  []int       // injector of each unit, ascending
	points []int       // point of each column
	weight []float64   // of each column; the largest is 1
	log    [][]float64 // [unit][column]: ln of what was delivered per shot, ml
	noise  [][]float64 // [unit][column]: its relative standard uncertainty
	matrix pick.Matrix // log by weight, in millionths
	kept   []int       // units
	left   []LeftOut
	unused []UnusedPoint
	notes  []diag.Note
	wrong  map[place]bool // with a reading judged wrong
}

// newPile takes the sound injectors and those kept by hand, and the points at
// which every one of them delivered something. If there is no such point,
// injectors measured at the fewest points are left out until there is one.
func newPile(c bench.Checked, r request) (*pile, error) {
	p := &pile{request: r, c: c, wrong: misread(c)}
	if err := p.choosePoints(); err != nil {
		return nil, err
	}
	p.chooseUnits()
	if err := p.agreeOnPoints(); err != nil {
		return nil, err
	}
	if err := p.enough(); err != nil {
		return nil, err
	}
	p.measure()
	p.tellWrong()
	return p, nil
}

// A place is an injector at a point.
type place struct{ injector, point int }

// misread are the places that have a reading which Check judged wrong.
func misread(c bench.Checked) map[place]bool {
	at := map[place]bool{}
	for k := range c.Readings() {
		if c.Wrong(k) != "" {
			at[place{c.InjectorOf(k), c.PointOf(k)}] = true
		}
	}
	return at
}

// tellWrong says where readings of the injectors to choose from are not used,
// because they were judged wrong.
func (p *pile) tellWrong() {
	var places []string
	for _, i := range p.units {
		for point := range p.c.Points() {
			if p.wrong[place{i, point}] {
				places = append(places, "injector "+id(p.c, i)+" at "+tables.PointName(p.c.Points()[point]))
			}
		}
	}
	if len(places) > 0 {
		p.notes = append(p.notes, diag.Warn("wrong-not-used", "A reading that was judged wrong is not used: %s.", few(places)))
	}
}

// choosePoints takes the points that are no leak tests, are asked for, and have
// a weight.
func (p *pile) choosePoints() error {
	all := p.c.Points()
	for _, w := range p.Points {
		if !slices.ContainsFunc(all, w.at) {
			return fmt.Errorf("--points: nothing was measured at %s: there is %s", w, few(p.names(compared(all))))
		}
	}
	for _, w := range p.Weights {
		if !slices.ContainsFunc(all, w.at) {
			return fmt.Errorf("--weights: nothing was measured at %s: there is %s", w.Where, few(p.names(compared(all))))
		}
	}
	for _, i := range compared(all) {
		switch {
		case len(p.Points) > 0 && !slices.ContainsFunc(p.Points, func(w Where) bool { return w.at(all[i]) }):
			p.leavePoint(i, "not asked for (--points)")
		case p.weightOf(i) <= 0:
			p.leavePoint(i, "its weight is 0")
		default:
			p.points = append(p.points, i)
		}
	}
	if len(p.points) == 0 {
		return fmt.Errorf("there is no point to compare the injectors at: a point needs a pulse, must be among --points and have a weight")
	}
	return nil
}

// compared are the points that are no leak tests.
func compared(all []bench.Point) []int {
	var list []int
	for i, p := range all {
		if !p.Leak {
			list = append(list, i)
		}
	}
	return list
}

func (p *pile) names(points []int) []string {
	var names []string
	for _, i := range points {
		names = append(names, tables.PointName(p.c.Points()[i]))
	}
	return names
}

func (p *pile) leavePoint(i int, why string) {
	p.unused = append(p.unused, UnusedPoint{newPoint(p.c.Points()[i]), why})
}

// weightOf is the weight of point i: of the last that names it.
func (p *pile) weightOf(i int) float64 {
	weight := 1.0
	for _, w := range p.Weights {
		if w.at(p.c.Points()[i]) {
			weight = w.Weight
		}
	}
	return weight
}

// chooseUnits takes the sound injectors and those kept, and says why others are
// left out.
func (p *pile) chooseUnits() {
	for i, inj := range p.c.Injectors() {
		switch {
		case i == p.failed:
			p.leave(i, "it failed and is being replaced")
		case slices.Contains(p.without, i):
			p.leave(i, "left out by hand (--without)")
		case inj.Verdict != bench.Sound && !slices.Contains(p.keep, i):
			p.leave(i, verdictReason(inj))
		default:
			p.units = append(p.units, i)
		}
	}
	for _, i := range p.keep {
		if inj := p.c.Injectors()[i]; inj.Verdict != bench.Sound {
			p.notes = append(p.notes, diag.Warn("kept-not-sound", "Injector %s is kept though it was judged %s.", inj.ID, verdictReason(inj)))
		}
	}
}

func verdictReason(inj bench.Injector) string {
	if len(inj.Reasons) == 0 {
		return inj.Verdict.String()
	}
	return inj.Verdict.String() + ": " + inj.Reasons[0]
}

func (p *pile) leave(i int, why string) {
	p.left = append(p.left, LeftOut{Injector: id(p.c, i), Reason: why})
}

func (p *pile) delivered(i, point int) bool {
	m := p.c.Mean(i, point)
	return m.N > 0 && m.PerShot > 0
}

// agreeOnPoints leaves the points at which every unit delivered something, and
// takes out units until there is such a point.
func (p *pile) agreeOnPoints() error {
	if common, _ := p.commonPoints(p.keep); len(common) == 0 {
		return fmt.Errorf("--keep %s: there is no point at which all that are kept delivered something: keep fewer", listed(ids(p.c, p.keep)))
	}
	for {
		common, partly := p.commonPoints(p.units)
		if len(common) > 0 {
			p.tellUnused(partly)
			p.points = common
			return nil
		}
		out := p.leastMeasured()
		why := "delivered nothing at any point compared, or was not measured there"
		if n := p.measuredAt(p.units[out]); n > 0 {
			why = fmt.Sprintf("measured at too few points (%d of %d): with it there is no point to compare all injectors at", n, len(p.points))
		}
		p.leave(p.units[out], why)
		p.units = slices.Delete(p.units, out, out+1)
	}
}

// commonPoints parts the points into those where each of these injectors
// delivered something, and others.
func (p *pile) commonPoints(list []int) (common, partly []int) {
	for _, point := range p.points {
		if slices.ContainsFunc(list, func(i int) bool { return !p.delivered(i, point) }) {
			partly = append(partly, point)
		} else {
			common = append(common, point)
		}
	}
	return common, partly
}

func (p *pile) measuredAt(i int) (n int) {
	for _, point := range p.points {
		if p.delivered(i, point) {
			n++
		}
	}
	return n
}

// leastMeasured is the unit, not kept, that delivered at the fewest points, the
// last of those.
func (p *pile) leastMeasured() int {
	least := -1
	for u, i := range p.units {
		if slices.Contains(p.keep, i) {
			continue
		}
		if least < 0 || p.measuredAt(i) <= p.measuredAt(p.units[least]) {
			least = u
		}
	}
	return least
}

// tellUnused says which injectors keep points from being compared, and what
// leaving out one of them would bring.
func (p *pile) tellUnused(points []int) {
	for _, point := range points {
		var missing, misread, nothing []string
		for _, i := range p.units {
			switch m := p.c.Mean(i, point); {
			case m.N == 0 && p.wrong[place{i, point}]:
				misread = append(misread, id(p.c, i))
			case m.N == 0:
				missing = append(missing, id(p.c, i))
			case m.PerShot <= 0:
				nothing = append(nothing, id(p.c, i))
			}
		}
		var why []string
		if len(missing) > 0 {
			why = append(why, injectors(missing)+" "+was(len(missing))+" not measured there")
		}
		if len(misread) > 0 {
			why = append(why, "what was read of "+injectors(misread)+" there was judged wrong")
		}
		if len(nothing) > 0 {
			why = append(why, injectors(nothing)+" delivered nothing there")
		}
		p.leavePoint(point, strings.Join(why, "; "))
	}
	if len(points) > 0 {
		p.notes = append(p.notes, diag.Warn("points-not-compared", "%s compared, because not every injector delivered there: %s.%s",
			map[bool]string{true: "One point is not", false: fmt.Sprintf("%d points are not", len(points))}[len(points) == 1],
			few(p.names(points)), p.remedy(points)))
	}
}

// remedy names the injector whose leaving out would bring back the most points.
func (p *pile) remedy(points []int) string {
	gain, best := 0, -1
	for _, i := range p.units {
		n := 0
		for _, point := range points {
			alone := !p.delivered(i, point)
			for _, other := range p.units {
				alone = alone && (other == i || p.delivered(other, point))
			}
			if alone {
				n++
			}
		}
		if n > gain {
			gain, best = n, i
		}
	}
	if best < 0 {
		return ""
	}
	return fmt.Sprintf(" Without injector %s (--without %[1]s) %s more would be compared.", id(p.c, best), counted(gain, "point"))
}

// enough checks that the sets can be filled.
func (p *pile) enough() error {
	have, sets := len(p.units), p.Sets
	if p.Aim == MostSets {
		sets = 1
	}
	want := sets * (p.Of + p.Spares)
	if places := have / p.Of * p.Of; p.Aim == MostSets && have >= want && len(p.keep) > places {
		return fmt.Errorf("--keep names %d injectors, but %d that can be used make %s of %d: keep fewer", len(p.keep), have, counted(have/p.Of, "set"), p.Of)
	}
	if have >= want {
		return nil
	}
	need := "needs"
	if sets > 1 {
		need = "need"
	}
	what := fmt.Sprintf("%s of %d", counted(sets, "set"), p.Of)
	if p.Spares > 0 {
		what += fmt.Sprintf(" with %s each", counted(p.Spares, "spare"))
	}
	return fmt.Errorf("%s %s %d injectors, but only %d of %d can be used: ask for fewer, or keep others by hand (--keep)%s",
		what, need, want, have, len(p.c.Injectors()), p.whyLeft())
}

// whyLeft counts the reasons for which injectors can't be used.
func (p *pile) whyLeft() string {
	var kinds []string
	for _, inj := range p.c.Injectors() {
		if v := inj.Verdict; v != bench.Sound && !slices.Contains(kinds, v.String()) {
			n := 0
			for _, other := range p.c.Injectors() {
				if other.Verdict == v {
					n++
				}
			}
			kinds = append(kinds, fmt.Sprintf("%d %s", n, v))
		}
	}
	if len(kinds) == 0 {
		return ""
	}
	return ". Judged " + listed(slices.Compact(kinds))
}

// measure fills the numbers.
func (p *pile) measure() {
	top := 0.0
	for _, point := range p.points {
		p.weight = append(p.weight, p.weightOf(point))
		top = max(top, p.weightOf(point))
	}
	for j := range p.weight {
		p.weight[j] /= top
	}
	rows := make([][]int32, len(p.units))
	for u, i := range p.units {
		logs, noise := make([]float64, len(p.points)), make([]float64, len(p.points))
		rows[u] = make([]int32, len(p.points))
		for j, point := range p.points {
			m := p.c.Mean(i, point)
			logs[j] = math.Log(m.PerShot.Ml())
			noise[j] = float64(m.U) / float64(m.PerShot)
			rows[u][j] = int32(math.Round(1e6 * p.weight[j] * logs[j]))
		}
		p.log, p.noise = append(p.log, logs), append(p.noise, noise)
		if slices.Contains(p.keep, i) {
			p.kept = append(p.kept, u)
		}
	}
	p.matrix = pick.NewMatrix(rows)
}

// ids are the names of these units.
func (p *pile) ids(units []int) []string {
	names := make([]string, len(units))
	for k, u := range units {
		names[k] = id(p.c, p.units[u])
	}
	return names
}

// spread is the set's largest to smallest at a column, less 1, in per cent.
func (p *pile) spread(units []int, column int) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, u := range units {
		ml := p.c.Mean(p.units[u], p.points[column]).PerShot.Ml()
		lo, hi = min(lo, ml), max(hi, ml)
	}
	return tidy(100 * (hi/lo - 1))
}

// worst is the largest spread over the columns and where it is.
func (p *pile) worst(units []int) (pct float64, column int) {
	for j := range p.points {
		if s := p.spread(units, j); s > pct {
			pct, column = s, j
		}
	}
	return pct, column
}

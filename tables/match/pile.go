package match

import (
	"fmt"
	"math"
	"slices"

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
	for k := range c.Readings().Len() {
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
		p.notes = append(p.notes, diag.Warn("wrong-not-used", "a reading that was judged wrong is not used: %s.", few(places)))
	}
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
	all := len(p.c.Injectors())
	advice := "measure more injectors"
	if most := have / (p.Of + p.Spares); most > 0 {
		advice = fmt.Sprintf("they make %s at the most (--sets %d)", counted(most, "set"), most)
	} else if want <= all {
		advice = fmt.Sprintf("make smaller sets (--of %d at the most), or keep others in spite of their verdict (--keep)", have-p.Spares)
	}
	return fmt.Errorf("%s %s %d injectors, but only %d of %d can be used: %s%s", what, need, want, have, all, advice, p.whyLeft())
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

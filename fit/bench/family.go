package bench

import (
	"math"
	"slices"

	"injtab/fit/internal/lsq"
)

// A family is a resistant picture of what the injectors have in common, made to
// judge readings and injectors by; up to a quarter of them may be junk. It is
// coarser than a fitted model and asks for less. With S the family's flow at a
// point's pressure, injector i delivers at point p
//
//	q/S = (1 + gain_i)·e_p − (E_c(t_p) − E_c(t_p − late_ic))      (ms)
//
// where e_p, the effective pulse, is the median over the injectors, E_c draws it over
// the pulse t under condition c, and late_ic is by how much later than the family the
// injector opens there.
type family struct {
	c           *Checked
	middle      []float64 // by pair: the middle repeat, m³; below 0: none
	y           []float64 // by pair: q/S of it, ms; below 0: none
	flow        []float64 // by point, m³/ms
	timed       bool      // pulses of several lengths were measured, so that S is a slope
	conds       []condition
	cond        []int     // by point; -1: held open or leak test
	ranked      []int32   // pairs by injector, condition and pulse
	rankedTo    []int32   // by injector: where its pairs end; they begin where its first pair is
	eff         []float64 // by point, ms; 0: nobody delivers
	slope       []float64 // by point
	forms       []form    // by point
	voters      [][]int32 // by point: pairs that show what the family delivers
	n           []int     // by point: how many of them deliver
	gain        []float64
	late        [][]float64 // [injector][condition], ms
	lateOverall []float64   // by injector, ms: alike under all conditions
	told        []int       // by injector: points that tell something of it beside the family
	shapes      []*shape    // by condition; nil: too few points
	drawn       []float64   // by point: the effective pulse that the shape has there, ms
	noise       []noise     // by pair
	curve       curve
}

// A condition is a voltage and a pressure with the points measured there.
type condition struct {
	pressure, voltage float64 // Pa, V
	points            []int   // by pulse
}

const (
	familyRounds    = 8    // of fitting injectors to points and points to injectors
	resistantRounds = 2    // of them from a resistant start, the rest from the round before
	ownLateness     = 4    // points under a condition that let an injector have its own lateness there
	lateSpread      = 0.1  // ms, standard deviation of lateness expected of a family
	leastEff        = 0.05 // ms: below, a point tells nothing of gain and lateness
	leastSlope      = 0.3  // below, the injectors hardly open
	fewVotes        = 5    // injectors at a point, of which two may be wrong
	disagree        = 0.1  // of the effective pulse
	leastGain       = 0.05 // of the family's flow, so that nonsense stays finite
)

// newFamily finds the family; before is the one from when other readings were wrong, or
// nil, with the injectors of those readings.
func newFamily(c *Checked, before *family, changed []bool) *family {
	injectors, points := len(c.injectors), len(c.points)
	f := &family{
		c:    c,
		gain: make([]float64, injectors), lateOverall: make([]float64, injectors), late: make([][]float64, injectors), told: make([]int, injectors),
		eff: make([]float64, points), slope: make([]float64, points), drawn: make([]float64, points), n: make([]int, points),
	}
	f.gather(before, changed)
	f.findConditions()
	f.rank()
	f.findFlow()
	f.toMs()
	f.findNoise(before)
	f.fit(before, changed)
	f.curve = f.newCurve()
	f.settle()
	for n := range f.y {
		if f.tells(int32(n)) {
			f.told[c.pairs.list[n].injector]++
		}
	}
	return f
}

// fit fits points to injectors and injectors to points in turn: first those that make up
// the family, then, to their points, the others. Of these, many in an archive, those of
// which the same readings count as before start from where they were, which
// saves half of the time of resistant starts.
func (f *family) fit(before *family, changed []bool) {
	members, others := f.choose()
	f.poll(f.pairsOf(members))
	for round := range familyRounds {
		f.fitPoints()
		f.fitShapes()
		f.fitInjectors(members, func(int) bool { return round < resistantRounds })
		f.center(members)
	}
	f.fitPoints()
	if len(others) > 0 {
		f.fitShapes()
		for _, i := range others {
			if before != nil {
				f.gain[i], f.lateOverall[i] = before.gain[i], before.lateOverall[i]
			}
		}
		f.fitInjectors(others, func(i int) bool { return before == nil || changed[i] })
		f.poll(f.c.pairs.at)
		f.fitPoints()
		f.fitShapes()
	}
}

// poll lets pairs, by point, show what the family delivers.
func (f *family) poll(voters [][]int32) {
	f.voters = voters
	for p := range f.n {
		f.n[p] = 0
		for _, n := range voters[p] {
			if f.y[n] > 0 {
				f.n[p]++
			}
		}
	}
}

// toMs divides what was delivered by the flow.
func (f *family) toMs() {
	for n, y := range f.y {
		if p := f.c.pairs.list[n].point; y > 0 {
			f.y[n] /= f.flow[p]
		}
	}
	late := make([]float64, len(f.late)*len(f.conds))
	for i := range f.late {
		f.late[i], late = late[:len(f.conds):len(f.conds)], late[len(f.conds):]
	}
	f.shapes = make([]*shape, len(f.conds))
	for p := range f.slope {
		f.slope[p] = 1
	}
}

// lateAt is by how much less an injector delivers at a point because it opens late.
func (f *family) lateAt(i, p int) float64 {
	j := f.cond[p]
	if j < 0 {
		return 0
	}
	if s := f.shapes[j]; s != nil && f.n[p] >= 3 {
		return f.drawn[p] - s.eff(f.c.points[p].Pulse.Ms()-f.late[i][j])
	}
	return f.late[i][j]
}

// fitPoints takes the median of the injectors at each point, each brought to the
// middle of the family.
func (f *family) fitPoints() {
	lsq.Share(len(f.eff), leastPoints, func(first, end int) {
		var votes []float64
		for p := first; p < end; p++ {
			votes = f.votes(p, votes[:0])
			f.eff[p] = math.Max(0, median(votes))
		}
	})
}

// settle lets the curve vote at points where few injectors disagree: two of four may
// be wrong there, and the median be between them.
func (f *family) settle() {
	for p := range f.eff {
		if f.n[p] < 3 || f.n[p] > fewVotes {
			continue
		}
		eff, _, ok := f.onCurve(p)
		all := f.votes(p, nil)
		if !ok || slices.Max(all)-slices.Min(all) < disagree*eff {
			continue
		}
		f.eff[p] = math.Max(0, median(append(all, eff)))
	}
}

// votes appends the effective pulses that the injectors show at a point.
func (f *family) votes(p int, all []float64) []float64 {
	for _, n := range f.voters[p] {
		if f.y[n] > 0 {
			i := int(f.c.pairs.list[n].injector)
			all = append(all, (f.y[n]+f.lateAt(i, p))/(1+f.gain[i]))
		}
	}
	return all
}

// fitShapes draws each condition's effective pulse over the pulse.
func (f *family) fitShapes() {
	if !f.timed {
		return
	}
	for j, cd := range f.conds {
		var t, e []float64
		for _, p := range cd.points {
			if f.n[p] >= 3 && f.eff[p] > 0 {
				t, e = append(t, f.c.points[p].Pulse.Ms()), append(e, f.eff[p])
			}
		}
		f.shapes[j] = newShape(t, e)
		for _, p := range cd.points {
			f.slope[p] = 1
			s, t := f.shapes[j], f.c.points[p].Pulse.Ms()
			if s != nil {
				f.drawn[p] = s.eff(t)
			}
			if s != nil && f.n[p] >= 3 {
				f.slope[p] = s.slope(t)
			}
		}
	}
}

// tells tells whether a point says something about an injector beside its family.
func (f *family) tells(n int32) bool {
	p := f.c.pairs.list[n].point
	return f.y[n] > 0 && f.n[p] >= 2 && f.eff[p] > leastEff
}

// center makes the family's middle the zero of gains and lateness.
func (f *family) center(members []int) {
	members = slices.DeleteFunc(slices.Clone(members), func(i int) bool { return !f.delivers(i) })
	middle := func(of func(i int) float64) float64 {
		all := make([]float64, len(members))
		for k, i := range members {
			all[k] = of(i)
		}
		return median(all)
	}
	gain := 1 + middle(func(i int) float64 { return f.gain[i] })
	for _, i := range members {
		f.gain[i] = (1+f.gain[i])/gain - 1
	}
	for j := range f.conds {
		late := middle(func(i int) float64 { return f.late[i][j] })
		for _, i := range members {
			f.late[i][j] -= late
		}
	}
}

func (f *family) delivers(i int) bool {
	first, end := f.c.pairs.ofInjector(i)
	return slices.ContainsFunc(f.y[first:end], func(y float64) bool { return y > 0 })
}

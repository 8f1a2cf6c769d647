package bench

import (
	"math"
	"slices"
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
	y           [][]float64   // [injector][point] q/S of the middle repeat, ms; below 0: not measured
	middle      [][]int       // a reading there, wrong or not; below 0: none
	repeats     [][][]float64 // [injector][point], ms
	told        []int         // by injector: points that tell something of it beside the family
	conds       []condition
	cond        []int     // by point; -1: held open or leak test
	flow        []float64 // by point, m³/ms
	timed       bool      // pulses of several lengths were measured, so that S is a slope
	eff         []float64 // by point, ms; 0: nobody delivers
	slope       []float64 // by point
	n           []int     // by point: injectors that deliver
	gain        []float64
	late        [][]float64 // [injector][condition], ms
	lateOverall []float64   // by injector, ms: alike under all conditions
	shapes      []*shape    // by condition; nil: too few points
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

func newFamily(c *Checked) *family {
	injectors, points := len(c.injectors), len(c.points)
	f := &family{
		c:    c,
		gain: make([]float64, injectors), lateOverall: make([]float64, injectors), late: make([][]float64, injectors), told: make([]int, injectors),
		eff: make([]float64, points), slope: make([]float64, points), n: make([]int, points),
	}
	f.gather()
	f.findConditions()
	f.findFlow()
	f.toMs()
	for round := range familyRounds {
		f.fitPoints()
		f.fitShapes()
		for i := range f.gain {
			f.fitInjector(i, round)
		}
		f.center()
	}
	f.fitPoints()
	f.curve = f.newCurve()
	f.settle()
	for i := range f.y {
		for p := range f.eff {
			if f.tells(i, p) {
				f.told[i]++
			}
		}
	}
	return f
}

// toMs divides what was delivered by the flow, and counts who delivers.
func (f *family) toMs() {
	for i := range f.y {
		f.late[i] = make([]float64, len(f.conds))
		for p := range f.y[i] {
			if f.y[i][p] <= 0 {
				continue
			}
			f.y[i][p] /= f.flow[p]
			f.n[p]++
			for k := range f.repeats[i][p] {
				f.repeats[i][p][k] /= f.flow[p]
			}
		}
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
		t := f.c.points[p].Pulse.Ms()
		return s.eff(t) - s.eff(t-f.late[i][j])
	}
	return f.late[i][j]
}

// fitPoints takes the median of the injectors at each point, each brought to the
// middle of the family.
func (f *family) fitPoints() {
	for p := range f.eff {
		f.eff[p] = math.Max(0, median(f.votes(p)))
	}
}

// settle lets the curve vote at points where few injectors disagree: two of four may
// be wrong there, and the median be between them.
func (f *family) settle() {
	for p := range f.eff {
		if f.n[p] < 3 || f.n[p] > fewVotes {
			continue
		}
		eff, _, ok := f.onCurve(p)
		all := f.votes(p)
		if !ok || slices.Max(all)-slices.Min(all) < disagree*eff {
			continue
		}
		f.eff[p] = math.Max(0, median(append(all, eff)))
	}
}

// votes are the effective pulses that the injectors show at a point.
func (f *family) votes(p int) []float64 {
	var all []float64
	for i := range f.y {
		if f.y[i][p] > 0 {
			all = append(all, (f.y[i][p]+f.lateAt(i, p))/(1+f.gain[i]))
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
			if f.shapes[j] != nil && f.n[p] >= 3 {
				f.slope[p] = f.shapes[j].slope(f.c.points[p].Pulse.Ms())
			}
		}
	}
}

// fitInjector finds an injector's gain and how late it opens, at first alike under
// all conditions, then its own where enough was measured.
func (f *family) fitInjector(i, round int) {
	var x, y, s []float64
	for p := range f.eff {
		if !f.tells(i, p) {
			continue
		}
		inverse := 0.0
		if f.cond[p] >= 0 && f.timed {
			inverse = f.slope[p] / f.eff[p]
		}
		x, y, s = append(x, inverse), append(y, f.y[i][p]/f.eff[p]), append(s, f.sigma(i, p, f.eff[p])/f.eff[p])
	}
	if len(x) == 0 {
		return
	}
	gain, late := 1+f.gain[i], f.lateOverall[i]
	if round < resistantRounds {
		gain, late = startLine(x, y)
	}
	gain, late = robustLine(x, y, s, gain, late, lateSpread)
	f.gain[i], f.lateOverall[i] = math.Max(gain, leastGain)-1, late
	for j, cd := range f.conds {
		f.late[i][j] = f.fitLateness(i, cd, late)
	}
}

// fitLateness is how late an injector opens under a condition: its own where enough
// points tell, else that over all.
func (f *family) fitLateness(i int, cd condition, overall float64) float64 {
	var late, sigma []float64
	for _, p := range cd.points {
		if f.tells(i, p) && f.slope[p] >= leastSlope && f.timed {
			late = append(late, f.lateSeen(i, p))
			sigma = append(sigma, f.sigma(i, p, f.eff[p])/f.slope[p])
		}
	}
	if len(late) < ownLateness {
		return overall
	}
	return robustMean(late, sigma)
}

// lateSeen is by how much later an injector opened, judged by one point.
func (f *family) lateSeen(i, p int) float64 {
	own := f.y[i][p] / (1 + f.gain[i])
	if s := f.shapes[f.cond[p]]; s != nil && f.n[p] >= 3 {
		return f.c.points[p].Pulse.Ms() - s.pulse(own)
	}
	return f.eff[p] - own
}

// tells tells whether a point says something about an injector beside its family.
func (f *family) tells(i, p int) bool {
	return f.y[i][p] > 0 && f.n[p] >= 2 && f.eff[p] > leastEff
}

// center makes the family's middle the zero of gains and lateness.
func (f *family) center() {
	middle := 1 + median(f.ofDelivering(func(i int) float64 { return f.gain[i] }))
	for i := range f.gain {
		f.gain[i] = (1+f.gain[i])/middle - 1
	}
	for j := range f.conds {
		middle := median(f.ofDelivering(func(i int) float64 { return f.late[i][j] }))
		for i := range f.late {
			f.late[i][j] -= middle
		}
	}
}

// ofDelivering gives a value of each injector that delivers anything.
func (f *family) ofDelivering(value func(i int) float64) []float64 {
	var all []float64
	for i := range f.y {
		if f.delivers(i) {
			all = append(all, value(i))
		}
	}
	return all
}

func (f *family) delivers(i int) bool {
	return slices.ContainsFunc(f.y[i], func(y float64) bool { return y > 0 })
}

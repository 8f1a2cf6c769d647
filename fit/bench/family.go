package bench

import (
	"cmp"
	"math"
	"slices"

	"injtab/fit/unit"
)

// A family is a resistant picture of what the injectors have in common, made to
// judge readings and injectors by; up to a quarter of them may be junk. It is
// coarser than a fitted model and asks for less. With S the family's flow at a
// point's pressure, injector i delivers at point p
//
//	q/S = (1 + gain_i)·e_p − late_ic·slope_p      (ms)
//
// where e_p, the effective pulse, is the median over the injectors, late_ic is by
// how much later than the family the injector opens under condition c, and slope_p
// is by how much e grows with the pulse there.
type family struct {
	c       *Checked
	y       [][]float64   // [injector][point] q/S of the middle repeat, ms; below 0: not measured
	middle  [][]int       // a reading there, wrong or not; below 0: none
	repeats [][][]float64 // [injector][point], ms
	told    []int         // by injector: points that tell something of it beside the family
	conds   []condition
	cond    []int     // by point; -1: held open or leak test
	flow    []float64 // by point, m³/ms
	timed   bool      // pulses of several lengths were measured, so that S is a slope
	eff     []float64 // by point, ms; 0: nobody delivers
	slope   []float64 // by point
	n       []int     // by point: injectors that deliver
	gain    []float64
	late    [][]float64 // [injector][condition], ms
	shapes  []*shape    // by condition; nil: too few points
	curve   curve
}

// A condition is a voltage and a pressure with the points measured there.
type condition struct {
	pressure, voltage float64 // Pa, V
	points            []int   // by pulse
}

const (
	familyRounds   = 8           // of fitting injectors to points and points to injectors
	ownLateness    = 4           // points under a condition that let an injector have its own lateness there
	lateSpread     = 0.1         // ms, standard deviation of lateness expected of a family
	leastEff       = 0.05        // ms: below, a point tells nothing of gain and lateness
	leastSlope     = 0.3         // below, the injectors hardly open
	medianVariance = math.Pi / 2 // of a median, times n, relative to one value of normal data
	otherScatter   = 0.002
	bendMs         = 0.03  // ms, at no effective pulse
	bendOver       = 0.35  // ms, it falls to a third
	formMs         = 0.003 // ms, everywhere
	bendOfLateIn   = 0.3   // of lateness, at no effective pulse, within the pulses measured
	bendOfLateOut  = 2.0   // and below them
)

func newFamily(c *Checked) *family {
	f := &family{
		c: c, gain: make([]float64, len(c.injectors)), late: make([][]float64, len(c.injectors)),
		eff: make([]float64, len(c.points)), n: make([]int, len(c.points)), slope: make([]float64, len(c.points)),
	}
	f.gather()
	f.findConditions()
	f.findFlow()
	f.shapes = make([]*shape, len(f.conds))
	for p := range f.slope {
		f.slope[p] = 1
	}
	for i := range f.y {
		f.late[i] = make([]float64, len(f.conds))
		for p := range f.y[i] {
			if f.y[i][p] > 0 {
				f.y[i][p] /= f.flow[p]
				for k := range f.repeats[i][p] {
					f.repeats[i][p][k] /= f.flow[p]
				}
				f.n[p]++
			}
		}
	}
	for range familyRounds {
		f.fitPoints()
		f.fitShapes()
		for i := range f.gain {
			f.fitInjector(i)
		}
		f.center()
	}
	f.fitPoints()
	f.curve = f.newCurve()
	f.told = make([]int, len(f.y))
	for i := range f.y {
		for p := range f.eff {
			if f.tells(i, p) {
				f.told[i]++
			}
		}
	}
	return f
}

// gather takes the readings that are not wrong, and the middle one of repeats, m³.
func (f *family) gather() {
	c := f.c
	f.y, f.middle, f.repeats = make([][]float64, len(c.injectors)), make([][]int, len(c.injectors)), make([][][]float64, len(c.injectors))
	for i := range f.y {
		f.y[i], f.middle[i], f.repeats[i] = make([]float64, len(c.points)), make([]int, len(c.points)), make([][]float64, len(c.points))
		for p := range f.y[i] {
			f.y[i][p], f.middle[i][p] = -1, -1
		}
	}
	for k := range c.sheet.Readings {
		i, p := c.injectorOf[k], c.pointOf[k]
		if c.points[p].Leak {
			continue
		}
		f.middle[i][p] = k
		if c.wrong[k] == "" {
			f.repeats[i][p] = append(f.repeats[i][p], c.perShot(k))
		}
	}
	for i := range f.repeats {
		for p, repeats := range f.repeats[i] {
			if len(repeats) > 0 {
				f.y[i][p] = median(repeats)
			}
		}
	}
}

// findConditions gathers the points of one voltage and pressure.
func (f *family) findConditions() {
	f.cond = make([]int, len(f.c.points))
	for p, pt := range f.c.points {
		f.cond[p] = -1
		if pt.Leak || pt.Static {
			continue
		}
		j := slices.IndexFunc(f.conds, func(cd condition) bool {
			return math.Abs(math.Log(cd.pressure/float64(pt.Pressure))) <= samePressure && math.Abs(cd.voltage-pt.Voltage.V()) <= sameVoltage
		})
		if j < 0 {
			j = len(f.conds)
			f.conds = append(f.conds, condition{pressure: float64(pt.Pressure), voltage: pt.Voltage.V()})
		}
		f.cond[p] = j
		f.conds[j].points = append(f.conds[j].points, p)
	}
	for _, cd := range f.conds {
		slices.SortStableFunc(cd.points, func(a, b int) int { return cmp.Compare(f.c.points[a].Pulse, f.c.points[b].Pulse) })
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
		var all []float64
		for i := range f.y {
			if f.y[i][p] > 0 {
				all = append(all, (f.y[i][p]+f.lateAt(i, p))/(1+f.gain[i]))
			}
		}
		f.eff[p] = math.Max(0, median(all))
	}
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

// sigma is the standard deviation, in ms, of what injector i is read to deliver at
// point p where eff ms are expected: that of the reading and that of the form, which
// is worst at short pulses.
func (f *family) sigma(i, p int, eff float64) float64 {
	s := math.Hypot(f.readSigma(i, p, eff), otherScatter*eff)
	if f.cond[p] < 0 || !f.timed {
		return s
	}
	form := f.formAt(p, eff) + f.bendOfLate(i, p, eff)
	return math.Hypot(s, form*math.Sqrt(1+medianVariance/float64(max(1, f.n[p]))))
}

// readSigma is the part of the reading alone.
func (f *family) readSigma(i, p int, eff float64) float64 {
	k := f.middle[i][p]
	if k < 0 {
		return 0
	}
	total := unit.Volume(eff * f.flow[p] / f.c.perShotScale(k))
	return eff * float64(f.c.weightOf(k, total).U()/total)
}

// formAt is by how much, in ms, injectors of one family part from the simple form at
// an effective pulse; the longer the dead time, the more. The constants are from
// simulated injectors of five designs.
func (f *family) formAt(p int, eff float64) float64 {
	dead := math.Max(0, f.c.points[p].Pulse.Ms()-eff)
	return (formMs + bendMs*math.Exp(-eff/bendOver)) * math.Max(1, dead*dead)
}

// bendOfLate is how uncertain the bend of an injector is that opens late or early:
// it was measured with the others unless theirs ends before.
func (f *family) bendOfLate(i, p int, eff float64) float64 {
	late := f.late[i][f.cond[p]]
	part := bendOfLateIn
	if s := f.shapes[f.cond[p]]; s == nil || f.c.points[p].Pulse.Ms()-late < s.t[0] {
		part = bendOfLateOut
	}
	return part * math.Exp(-eff/bendOver) * math.Abs(late)
}

// fitInjector finds an injector's gain and how late it opens, at first alike under
// all conditions, then its own where enough was measured.
func (f *family) fitInjector(i int) {
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
	gain, late := robustLine(x, y, s, lateSpread)
	f.gain[i] = gain - 1
	for j, cd := range f.conds {
		f.late[i][j] = late
		var l, sl []float64
		for _, p := range cd.points {
			if f.tells(i, p) && f.slope[p] >= leastSlope && f.timed {
				l = append(l, f.lateSeen(i, p, gain))
				sl = append(sl, f.sigma(i, p, f.eff[p])/f.slope[p])
			}
		}
		if len(l) >= ownLateness {
			f.late[i][j] = robustMean(l, sl)
		}
	}
}

// lateSeen is by how much later an injector opened, judged by one point.
func (f *family) lateSeen(i, p int, gain float64) float64 {
	own := f.y[i][p] / gain
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

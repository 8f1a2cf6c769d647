package bench

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// When a reading counts as wrong: it has to be beyond all of these.
const (
	wrongSigmas    = 6    // standard deviations of the reading and the form together
	wrongPart      = 0.05 // of the value that would have fitted
	wrongDivisions = 2.5  // of the vessel
	judgeFrom      = 0.12 // ms effective: below, injectors of one family part too far
	fewPoints      = 4    // of an injector, to tell its lateness from a wrong reading
	enoughRepeats  = 4    // at a point, to judge each other
	alikeEff       = 1.35 // ratio of effective pulses that scatter alike
	alikePoints    = 30   // on either side
	swapSigmas     = 3.5
	swapReach      = 24   // doubtful readings of a point between two that changed places
	swapFit        = 1.5  // standard deviations after changing places
	rowPart        = 0.08 // by which a whole row has to be off
)

// Expected is what a reading should show, m³ per shot, with a relative standard
// deviation.
type expected struct{ perShot, sigma float64 }

// expect says what injector i should deliver at point p by its family and its other
// readings; false where nothing can be said.
func (f *family) expect(i, p int) (expected, bool) {
	eff, extra, ok := f.eff[p], 0.0, true
	n := f.told[i]
	switch {
	case f.n[p] < 3:
		eff, extra, ok = f.onCurve(p)
	case n < fewPoints-1:
		ok = false
	case n < fewPoints:
		extra = lateSpread
	}
	want := (1+f.gain[i])*eff - f.lateAt(i, p)
	if !ok || want < judgeFrom || eff < leastEff || f.slope[p] < leastSlope {
		return f.byRepeats(i, p)
	}
	return expected{want * f.flow[p], math.Hypot(f.sigma(i, p, want), extra) / want}, true
}

// byRepeats judges by the middle of several readings of the same.
func (f *family) byRepeats(i, p int) (expected, bool) {
	if len(f.repeats[i][p]) < enoughRepeats || f.y[i][p] <= 0 {
		return expected{}, false
	}
	var off []float64
	for _, y := range f.repeats[i][p] {
		off = append(off, math.Abs(y/f.y[i][p]-1))
	}
	sigma := math.Hypot(f.readSigma(i, p, f.y[i][p])/f.y[i][p], madToSigma*median(off))
	return expected{f.y[i][p] * f.flow[p], math.Hypot(sigma, otherScatter)}, true
}

// A miss is a reading beside what was expected of it.
type miss struct {
	reading int
	want    float64 // m³ in all
	sigma   float64 // relative, widened to what the readings around show
	part    float64 // by how much more was read, relative to want
}

// z is the miss in standard deviations.
func (m miss) z() float64 { return m.part / m.sigma }

// misses compares every reading that can be judged, in the order of the sheet.
func (f *family) misses() []miss {
	type cell struct {
		expected
		ok bool
	}
	table := make([][]cell, len(f.y))
	for i := range table {
		table[i] = make([]cell, len(f.eff))
		for p := range table[i] {
			table[i][p].expected, table[i][p].ok = f.expect(i, p)
		}
	}
	scale := f.scales(func(i, p int) (expected, bool) { return table[i][p].expected, table[i][p].ok })
	var all []miss
	for k := range f.c.sheet.Readings {
		i, p := f.c.injectorOf[k], f.c.pointOf[k]
		if e := table[i][p]; e.ok {
			all = append(all, miss{k, e.perShot / f.c.perShotScale(k), e.sigma * scale[p], f.c.perShot(k)/e.perShot - 1})
		}
	}
	return all
}

// scales widens sigma, by point, to what two thirds of the injectors at points of
// like effective pulse show.
func (f *family) scales(expect func(i, p int) (expected, bool)) []float64 {
	at := make([][]float64, len(f.eff)) // sizes of the misses, by point
	for p := range f.eff {
		for i := range f.y {
			if e, ok := expect(i, p); ok && f.y[i][p] > 0 {
				at[p] = append(at[p], math.Abs(f.y[i][p]*f.flow[p]/e.perShot-1)/e.sigma)
			}
		}
	}
	order := make([]int, len(f.eff))
	for p := range order {
		order[p] = p
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(f.eff[a], f.eff[b]) })
	scale := make([]float64, len(f.eff))
	for k, p := range order {
		lo, hi := k, k+1
		for lo > max(0, k-alikePoints) && f.eff[order[lo-1]]*alikeEff >= f.eff[p] {
			lo--
		}
		for hi < min(len(order), k+alikePoints) && f.eff[order[hi]] <= f.eff[p]*alikeEff {
			hi++
		}
		scale[p] = 1
		if z := slices.Concat(pick(at, order[lo:hi])...); len(z) > 7 {
			scale[p] = math.Max(1, quantile(z, 0.65)/0.935)
		}
	}
	return scale
}

func pick(lists [][]float64, which []int) [][]float64 {
	picked := make([][]float64, len(which))
	for k, p := range which {
		picked[k] = lists[p]
	}
	return picked
}

// tooFar tells whether a miss is too far for anything but a slip.
func (f *family) tooFar(m miss) bool {
	part := math.Abs(m.part)
	return part > wrongPart && part > wrongSigmas*m.sigma && part*m.want > wrongDivisions*float64(f.c.divisionOf(m.reading))
}

// swaps finds readings of one point that would both fit if they changed places. Each
// may be off by less than tooFar asks, because two of few injectors move the middle.
func (f *family) swaps(misses []miss) []miss {
	at := map[int][]miss{}
	for _, m := range misses {
		if math.Abs(m.part) > wrongPart && math.Abs(m.z()) > swapSigmas {
			p := f.c.pointOf[m.reading]
			at[p] = append(at[p], m)
		}
	}
	var found []miss
	for p := range f.eff {
		for j, a := range at[p] {
			for _, b := range at[p][j+1 : min(len(at[p]), j+1+swapReach)] {
				if a.part*b.part < 0 && f.c.injectorOf[a.reading] != f.c.injectorOf[b.reading] && f.fitsFor(b, a) && f.fitsFor(a, b) {
					found = append(found, a, b)
				}
			}
		}
	}
	return found
}

// fitsFor tells whether the amount of one reading is what another should show.
func (f *family) fitsFor(a, b miss) bool {
	off := math.Abs(float64(f.c.sheet.Readings[a.reading].Volume)/b.want - 1)
	return off < math.Min(swapFit*b.sigma, math.Abs(b.part)/3)
}

// findWrong marks the readings that are too far from what was expected, twice: what
// is marked at first no longer bears on the rest. Readings of an injector that never
// repeats itself are not marked one by one, and a row that is wrong as a whole counts
// as one slip.
func (c *Checked) findWrong() (*family, []miss) {
	f := newFamily(c)
	rows, shifts := f.wrongRows(), f.shifts()
	var marked []miss
	for range 2 {
		marked = f.misses()
		c.markWrong(f, marked, rows, shifts)
		f = newFamily(c)
	}
	return f, withMarked(f.misses(), marked, c.wrong)
}

// withMarked adds to the misses those of wrong readings that can't be judged any more
// once the wrong ones are out.
func withMarked(misses, marked []miss, wrong []string) []miss {
	judged := make([]bool, len(wrong))
	for _, m := range misses {
		judged[m.reading] = true
	}
	for _, m := range marked {
		if !judged[m.reading] && wrong[m.reading] != "" {
			misses = append(misses, m)
		}
	}
	return misses
}

// markWrong gives each wrong reading a reason, which is told in full later.
func (c *Checked) markWrong(f *family, misses []miss, rows []string, shifts []int) {
	erratic := f.findErratic(misses)
	wrong := make([]string, len(c.wrong))
	for _, m := range misses {
		if f.tooFar(m) && !erratic[c.injectorOf[m.reading]] {
			wrong[m.reading] = doesNotFit
		}
	}
	for _, m := range f.swaps(misses) {
		wrong[m.reading] = doesNotFit
	}
	for k, p := range c.pointOf {
		if shifts[k] != 0 {
			wrong[k] = slippedAway
		}
		if rows[p] != "" {
			wrong[k] = rows[p]
		}
	}
	c.wrong = wrong
}

const (
	doesNotFit  = "does not fit"
	slippedAway = "belongs to another row"
)

// tellWrong names each wrong reading with the value that would have fitted and the
// likely cause.
func (c *Checked) tellWrong(f *family, misses []miss) {
	if !slices.Contains(c.wrong, doesNotFit) && !slices.Contains(c.wrong, slippedAway) {
		return
	}
	look := newCauses(f, misses)
	for k, r := range c.sheet.Readings {
		m, judged := look.misses[k]
		cause := ""
		switch {
		case c.wrong[k] == slippedAway:
			cause = "the amounts seem to have slipped by one row: compare them with your notes"
			if !judged { // too little is left of the injector to say more than its family does
				m.want = f.middleOf(k)
			}
		case c.wrong[k] == doesNotFit:
			cause = look.likely(m)
		default:
			continue
		}
		c.wrong[k] = fmt.Sprintf("%s was read, about %s would fit: %s", f.amount(k, float64(r.Volume)), f.amount(k, m.want), cause)
		c.warn(c.sheet.At(r), "wrong-reading", "injector %s at %s: %s; the reading is left out", r.Injector, c.points[c.pointOf[k]], c.wrong[k])
	}
}

package bench

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"injtab/fit/diag"
	"injtab/fit/internal/lsq"
)

// When a reading counts as wrong: it has to be beyond all of these.
const (
	wrongSigmas    = 6     // standard deviations of the reading and the form together
	wrongPart      = 0.05  // of the value that would have fitted
	wrongDivisions = 2.5   // of the vessel
	judgeFrom      = 0.12  // ms effective: below, injectors of one family part too far
	fewPoints      = 4     // of an injector, to tell its lateness from a wrong reading
	enoughRepeats  = 4     // at a point, to judge each other
	usualPart      = 0.65  // of the misses
	usualMiss      = 0.935 // standard deviations that so many normal ones are within
	alikeEff       = 1.35  // ratio of effective pulses that scatter alike
	alikePoints    = 30    // on either side
	manyInjectors  = 500   // at a point; of more, an even choice shows the scatter as well
	swapSigmas     = 3.5
	swapReach      = 24   // doubtful readings of a point between two that changed places
	swapFit        = 1.5  // standard deviations after changing places
	rowPart        = 0.08 // by which a whole row has to be off
)

// Expected is what a reading should show, m³ per shot, with a relative standard
// deviation; 0 where nothing can be said.
type expected struct{ perShot, sigma float64 }

// expect says what injector i should deliver at point p by its family and its other
// readings; n is their pair, or none where it was not measured there.
func (f *family) expect(i, p int, n int32) expected {
	eff, extra, ok := f.eff[p], 0.0, true
	told := f.told[i]
	switch {
	case f.n[p] < 3:
		eff, extra, ok = f.onCurve(p)
	case told < fewPoints-1:
		ok = false
	case told < fewPoints:
		extra = lateSpread
	}
	want := (1+f.gain[i])*eff - f.lateAt(i, p)
	if !ok || want < judgeFrom || eff < leastEff || f.slope[p] < leastSlope {
		return f.byRepeats(n)
	}
	return expected{want * f.flow[p], math.Hypot(f.sigma(i, p, n, want), extra) / want}
}

// byRepeats judges by the middle of several readings of the same.
func (f *family) byRepeats(n int32) expected {
	if n == none || f.y[n] <= 0 {
		return expected{}
	}
	off := f.c.repeats(n, nil)
	if len(off) < enoughRepeats {
		return expected{}
	}
	middle := f.y[n] * f.flow[f.c.pairs.list[n].point]
	for k := range off {
		off[k] = math.Abs(off[k]/middle - 1)
	}
	sigma := math.Hypot(math.Sqrt(f.readVariance(n, f.y[n]))/f.y[n], madToSigma*median(off))
	return expected{middle, math.Hypot(sigma, otherScatter)}
}

// A miss is a reading beside what was expected of it.
type miss struct {
	reading int
	perShot float64 // m³, as expected
	sigma   float64 // relative, widened to what the readings around show
	part    float64 // by how much more was read, relative to what was expected
}

// z is the miss in standard deviations.
func (m miss) z() float64 { return m.part / m.sigma }

// want is the amount expected of a reading in all, m³.
func (c *Checked) want(m miss) float64 { return m.perShot / c.perShotScale(m.reading) }

// miss is that of a reading that shows so much of a shot, m³.
func (e expected) miss(reading int, perShot float64) miss {
	return miss{reading, e.perShot, e.sigma, perShot/e.perShot - 1}
}

// misses compare every reading that can be judged with what was expected of its pair.
type misses struct {
	c        *Checked
	expected []expected // by pair
	before   *misses    // of wrong readings that can't be judged any more once they are out
}

func (f *family) misses() *misses {
	s := &misses{c: f.c, expected: make([]expected, f.c.pairs.count())}
	lsq.Share(len(s.expected), leastPairs, func(first, end int) {
		for n := first; n < end; n++ {
			x := f.c.pairs.list[n]
			s.expected[n] = f.expect(int(x.injector), int(x.point), int32(n))
		}
	})
	scale := f.scales(s.expected)
	for n := range s.expected {
		s.expected[n].sigma *= scale[f.c.pairs.list[n].point]
	}
	return s
}

// at is the miss of a reading; false where it can't be judged.
func (s *misses) at(k int) (miss, bool) { return s.of(s.c.pairs.of[k], k, s.c.perShot(k)) }

// of is that of a reading of pair n that shows so much of a shot, m³.
func (s *misses) of(n int32, k int, perShot float64) (miss, bool) {
	if e := s.expected[n]; e.sigma > 0 {
		return e.miss(k, perShot), true
	}
	if s.before != nil && s.c.wrong[k] != fine {
		return s.before.of(n, k, perShot)
	}
	return miss{}, false
}

// far lists, in the order of the sheet, the misses of more than so many standard
// deviations and, relative, more than a part. Pairs whose least and most are near are
// passed over, which leaves few.
func (s *misses) far(sigmas, part float64) (list []miss) {
	for n, e := range s.expected {
		if s.near(n, math.Max(part, sigmas*e.sigma)) {
			continue
		}
		for m := range s.ofPair(int32(n)) {
			if math.Abs(m.part) > part && math.Abs(m.z()) > sigmas {
				list = append(list, m)
			}
		}
	}
	slices.SortFunc(list, func(a, b miss) int { return cmp.Compare(a.reading, b.reading) })
	return list
}

// near tells whether no reading of a pair is further from what was expected than a part.
func (s *misses) near(n int, part float64) bool {
	e, x := s.expected[n], s.c.extremes[n]
	if e.sigma > 0 {
		return x.most/e.perShot-1 <= part && x.least/e.perShot-1 >= -part
	}
	return !s.judgedBefore(int32(n))
}

// judgedBefore tells whether a pair that can't be judged has readings that could be before.
func (s *misses) judgedBefore(n int32) bool {
	return s.before != nil && slices.ContainsFunc(s.c.pairs.readings(n), func(k int32) bool { return s.c.wrong[k] != fine })
}

// ofPair goes through those of a pair.
func (s *misses) ofPair(n int32) func(yield func(miss) bool) {
	return func(yield func(miss) bool) {
		for j, end := s.c.pairs.span(n); j < end; j++ {
			if m, ok := s.of(n, int(s.c.pairs.order[j]), s.c.shown[j]); ok && !yield(m) {
				return
			}
		}
	}
}

// scales widens sigma, by point, to what two thirds of the injectors at points of
// like effective pulse show.
func (f *family) scales(all []expected) []float64 {
	at := make([][]float64, len(f.eff)) // sizes of the misses, by point
	usual := make([]int, len(f.eff))    // how many of them are no larger than usualMiss
	for p, list := range f.c.pairs.at {
		step := len(list)/manyInjectors + 1
		for j := 0; j < len(list); j += step {
			n := list[j]
			if e := all[n]; e.sigma > 0 && f.y[n] > 0 {
				z := math.Abs(f.y[n]*f.flow[p]/e.perShot-1) / e.sigma
				if at[p] = append(at[p], z); z <= usualMiss {
					usual[p]++
				}
			}
		}
	}
	order := make([]int, len(f.eff))
	for p := range order {
		order[p] = p
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(f.eff[a], f.eff[b]) })
	scale := make([]float64, len(f.eff))
	lsq.Share(len(order), leastPoints, func(first, end int) {
		var z []float64
		for k := first; k < end; k++ {
			p := order[k]
			lo, hi := k, k+1
			for lo > max(0, k-alikePoints) && f.eff[order[lo-1]]*alikeEff >= f.eff[p] {
				lo--
			}
			for hi < min(len(order), k+alikePoints) && f.eff[order[hi]] <= f.eff[p]*alikeEff {
				hi++
			}
			small := 0
			z = z[:0]
			for _, q := range order[lo:hi] {
				z, small = append(z, at[q]...), small+usual[q]
			}
			scale[p] = 1
			if len(z) > 7 && float64(small) <= usualPart*float64(len(z)-1) { // else the quantile is no larger
				scale[p] = math.Max(1, quantile(z, usualPart)/usualMiss)
			}
		}
	})
	return scale
}

// tooFar tells whether a miss is too far for anything but a slip.
func (c *Checked) tooFar(m miss) bool {
	part := math.Abs(m.part)
	return part > wrongPart && part > wrongSigmas*m.sigma && part*c.want(m) > wrongDivisions*float64(c.divisionOf(m.reading))
}

// swaps finds readings of one point that would both fit if they changed places. Each
// may be off by less than tooFar asks, because two of few injectors move the middle.
func (f *family) swaps(s *misses) []miss {
	at := map[int32][]miss{}
	for _, m := range s.far(swapSigmas, wrongPart) {
		p := f.c.pairOf(m.reading).point
		at[p] = append(at[p], m)
	}
	var found []miss
	for _, list := range at {
		for j, a := range list {
			for _, b := range list[j+1 : min(len(list), j+1+swapReach)] {
				if a.part*b.part < 0 && f.c.pairOf(a.reading).injector != f.c.pairOf(b.reading).injector && f.fitsFor(b, a) && f.fitsFor(a, b) {
					found = append(found, a, b)
				}
			}
		}
	}
	return found // in no order
}

// fitsFor tells whether the amount of one reading is what another should show.
func (f *family) fitsFor(a, b miss) bool {
	off := math.Abs(float64(f.c.sheet.Readings.rows[a.reading].volume)/f.c.want(b) - 1)
	return off < math.Min(swapFit*b.sigma, math.Abs(b.part)/3)
}

// findWrong marks the readings that are too far from what was expected, twice: what
// is marked at first no longer bears on the rest. Readings of an injector that never
// repeats itself are not marked one by one, and a row that is wrong as a whole counts
// as one slip.
func (c *Checked) findWrong() (*family, *misses) {
	f := newFamily(c, nil, nil)
	shifts := f.shifts()
	c.rows = f.wrongRows()
	s, before := f.misses(), (*misses)(nil)
	for range 2 {
		changed, any := c.markWrong(f, s, shifts)
		if !any {
			return f, s // another round would give the same
		}
		f = newFamily(c, f, changed)
		s, before = f.misses(), s
	}
	s.before = before
	return f, s
}

// markWrong marks each wrong reading; what is wrong is told later. It tells of which
// injectors it marked others than before.
func (c *Checked) markWrong(f *family, s *misses, shifts []int) (changed []bool, any bool) {
	erratic := f.findErratic(s)
	wrong := make([]fault, len(c.wrong))
	for _, m := range s.far(wrongSigmas, wrongPart) {
		if c.tooFar(m) && !erratic[c.InjectorOf(m.reading)] {
			wrong[m.reading] = doesNotFit
		}
	}
	for _, m := range f.swaps(s) {
		wrong[m.reading] = doesNotFit
	}
	for _, k := range shifts {
		wrong[k] = slippedAway
	}
	for p, row := range c.rows {
		if row == "" {
			continue
		}
		for k := range c.readingsAt(p) {
			wrong[k] = rowIsWrong
		}
	}
	changed = make([]bool, len(c.injectors))
	for k := range wrong {
		if wrong[k] != c.wrong[k] {
			changed[c.InjectorOf(k)], any = true, true
		}
	}
	c.wrong = wrong
	return changed, any
}

// tellWrong names each wrong reading with the value that would have fitted and the
// likely cause.
func (c *Checked) tellWrong(f *family, s *misses) {
	var look *causes
	for k, fault := range c.wrong {
		if fault != doesNotFit && fault != slippedAway {
			continue
		}
		if look == nil {
			look = newCauses(f, s)
		}
		r := c.sheet.Readings.At(k)
		want, cause := look.tell(k)
		c.why[k] = c.misread(k, want) + ": " + cause
		c.notes = append(c.notes, c.leftOut(r, c.PointOf(k), c.why[k]))
	}
}

// misread says what was read and what was wanted, m³.
func (c *Checked) misread(k int, want float64) string {
	return fmt.Sprintf("%s was read, about %s would fit", c.amount(k, float64(c.sheet.Readings.rows[k].volume)), c.amount(k, want))
}

// leftOut is the finding that a reading at a point is wrong.
func (c *Checked) leftOut(r Reading, p int, why string) diag.Note {
	return diag.Note{Severity: diag.Warning, Code: "wrong-reading", Place: c.sheet.At(r),
		Message: fmt.Sprintf("injector %s at %s: %s; the reading is left out", r.Injector, c.points[p], why)}
}

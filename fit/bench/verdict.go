package bench

import (
	"fmt"
	"math"
	"slices"

	"injtab/fit/internal/lsq"
	"injtab/fit/unit"
)

// Limits of the verdicts, common practice without a source; the spreads are those of
// the family at hand where it is large enough to show its own.
const (
	enoughFamily  = 4     // injectors that deliver, to judge one by the others
	familyGain    = 0.03  // standard deviation of flow expected of a family
	familyLate    = 0.06  // ms, of opening
	priorMembers  = 6     // how many injectors the expectation counts for
	outlierSpread = 4.0   // standard deviations
	outlierPart   = 0.10  // least deviation of flow that is worth a verdict
	outlierLate   = 0.15  // ms, and of opening
	deadPart      = 0.8   // of the points where its family delivers
	wellOpen      = 0.5   // ms effective: here every sound injector delivers
	erraticSigmas = 2.2   // typical miss of the better two thirds, in standard deviations
	erraticPart   = 0.015 // and relative
	manyReadings  = 12
	smallPart     = erraticPart / 2 // misses of no more, where most are so: then their trimmed deviation, of three or more, is below erraticPart
	farSigmas     = 4.0
	farPart       = 0.03
	leakSigmas    = 3.0
	leakOfFlow    = 0.001 // of the flow held open: below it a seep is common
	surelyShort   = 0.4   // ms: opens no injector
	deadShare     = 0.7   // of the dead time: opens none of the family
	leakMs        = 0.1   // ms of flow, delivered by a pulse too short to open its family
)

// spread is the standard deviation of a family, by its median deviation and what is
// expected of any family.
func spread(values []float64, prior float64) float64 {
	sizes := make([]float64, len(values))
	for i, v := range values {
		sizes[i] = math.Abs(v)
	}
	mad, n := madToSigma*median(sizes), float64(len(values))
	return math.Sqrt((n*mad*mad + priorMembers*prior*prior) / (n + priorMembers))
}

// findErratic tells which injectors miss what is expected of them at most points.
func (f *family) findErratic(s *misses) []bool {
	erratic := make([]bool, len(f.gain))
	lsq.Share(len(erratic), leastInjectors, func(first, end int) {
		var z, part []float64
		for i := first; i < end; i++ {
			if f.steady(i, s) {
				continue
			}
			z, part = f.missesOf(i, s, z[:0], part[:0])
			erratic[i] = len(z) > fewPoints && (manyFar(z, part) || trimmed(z) > erraticSigmas && trimmed(part) > erraticPart)
		}
	})
	return erratic
}

// steady tells, in a fifth of the time, of most injectors that they are not erratic: too many
// of their misses are small, and too few are far.
func (f *family) steady(i int, s *misses) bool {
	all, small, far := 0, 0, 0
	for n, end := f.c.pairs.ofInjector(i); n < end; n++ {
		e := s.expected[n]
		if e.sigma <= 0 && s.judgedBefore(n) {
			return false
		}
		if e.sigma <= 0 || e.perShot <= wellOpen*f.flow[f.c.pairs.list[n].point] {
			continue
		}
		limit := math.Max(farPart, farSigmas*e.sigma)
		first, last := f.c.pairs.span(n)
		for _, read := range f.c.shown[first:last] {
			part := read/e.perShot - 1
			if part <= -1 { // nothing was delivered: missesOf leaves it out
				continue
			}
			all++
			if math.Abs(part) <= smallPart {
				small++
			}
			if math.Abs(part) > limit {
				far++
			}
		}
	}
	return small >= kept(all) && 2*far < all
}

// missesOf appends the sizes of the misses of an injector where it is well open, in standard
// deviations and relative.
func (f *family) missesOf(i int, s *misses, z, part []float64) (sigmas, parts []float64) {
	for n, end := f.c.pairs.ofInjector(i); n < end; n++ {
		for m := range s.ofPair(n) {
			if m.perShot > wellOpen*f.flow[f.c.pairs.list[n].point] && m.part > -1 {
				z, part = append(z, math.Abs(m.z())), append(part, math.Abs(m.part))
			}
		}
	}
	return z, part
}

// manyFar tells whether half of the readings, three or more, are too far for noise: an
// operator makes fewer slips with one injector.
func manyFar(z, part []float64) bool {
	far := 0
	for k := range z {
		if z[k] > farSigmas && part[k] > farPart {
			far++
		}
	}
	return far >= 3 && 2*far >= len(z)
}

// trimmed is the standard deviation of misses from a line, without the worst third of
// them, which may be slips; of many, without nearly half. It reorders them.
func trimmed(misses []float64) float64 {
	n := kept(len(misses))
	lsq.Nth(misses, n-1)
	sum := 0.0
	for _, x := range misses[:n] {
		sum += x * x
	}
	return math.Sqrt(sum / float64(max(1, n-2)))
}

// kept is how many of some misses are neither the worst third nor, of many, nearly half.
func kept(misses int) int {
	if misses >= manyReadings {
		return misses * 11 / 20
	}
	return misses - (misses+2)/3
}

// judgeInjectors gives each injector its verdict and the reasons.
func (c *Checked) judgeInjectors(f *family, misses *misses) {
	c.erratic = f.findErratic(misses)
	c.judgeLeakTests(f)
	var members []int
	for i := range c.injectors {
		switch {
		case c.judgeDead(f, i), c.judgeLeaking(f, i):
		case c.erratic[i]:
			c.verdict(i, Erratic, "its readings scatter by %.3g %%, far more than they are uncertain: it does not repeat itself", 100*typicalPart(c, i, misses))
		default:
			members = append(members, i)
		}
	}
	c.judgeOutliers(f, members)
}

func (c *Checked) verdict(i int, v Verdict, format string, args ...any) {
	c.injectors[i].Verdict = max(c.injectors[i].Verdict, v)
	c.injectors[i].Reasons = append(c.injectors[i].Reasons, fmt.Sprintf(format, args...))
}

func typicalPart(c *Checked, i int, s *misses) float64 {
	var part []float64
	for n, end := c.pairs.ofInjector(i); n < end; n++ {
		for m := range s.ofPair(n) {
			part = append(part, math.Abs(m.part))
		}
	}
	return madToSigma * median(part)
}

// judgeDead finds an injector that delivers nothing, or hardly ever, where its
// family does.
func (c *Checked) judgeDead(f *family, i int) bool {
	asked, nothing, measured := 0, 0, 0
	for n, end := c.pairs.ofInjector(i); n < end; n++ {
		if f.y[n] < 0 {
			continue
		}
		measured++
		if f.eff[c.pairs.list[n].point] < wellOpen {
			continue
		}
		asked++
		if f.y[n] < leastEff {
			nothing++
		}
	}
	switch {
	case measured > 0 && !f.delivers(i):
		c.verdict(i, Dead, "delivers nothing at any of %s", count(measured, "point", "points"))
	case asked > 0 && float64(nothing) >= deadPart*float64(asked):
		c.verdict(i, Dead, "delivers nothing at %d of %s where its family does", nothing, count(asked, "point", "points"))
	default:
		return false
	}
	return true
}

// judgeLeakTests takes the leak rates from the tests without pulses: the mean over
// all of an injector's.
func (c *Checked) judgeLeakTests(f *family) {
	if !slices.ContainsFunc(c.points, func(p Point) bool { return p.Leak }) {
		return
	}
	n := len(c.injectors)
	sum, u, seconds := make([]float64, n), make([]float64, n), make([]float64, n)
	for k := range c.sheet.Readings.rows {
		if x := c.sheet.Readings.common(k); x.leak() {
			i := c.InjectorOf(k)
			sum[i] += float64(c.sheet.Readings.rows[k].volume)
			u[i] = math.Hypot(u[i], float64(c.Weight(k).U()))
			seconds[i] += x.duration().Seconds()
		}
	}
	open := c.openFlow(f)
	for i := range c.injectors {
		if seconds[i] <= 0 {
			continue
		}
		inj := &c.injectors[i]
		inj.LeakTest, inj.Leak = true, unit.VolumeFlow(sum[i]/seconds[i])
		if sum[i] > leakSigmas*u[i] && float64(inj.Leak) > leakOfFlow*open {
			c.verdict(i, Leaking, "drips %.2g ml/min in the leak test", inj.Leak.MlMin())
		}
	}
}

// openFlow is what the family passes held open, m³/s; 0 where nothing tells it.
func (c *Checked) openFlow(f *family) float64 {
	flow := 0.0
	for p, pt := range c.points {
		if !pt.Leak && f.eff[p] > 0 {
			flow = math.Max(flow, f.flow[p]*1e3)
		}
	}
	return flow
}

// judgeLeaking finds an injector that delivers where no injector can have opened, or
// that is far above its family at short pulses and less so at long ones.
func (c *Checked) judgeLeaking(f *family, i int) bool {
	before := 0
	for n, end := c.pairs.ofInjector(i); n < end; n++ {
		if f.y[n] > leakMs && f.tooShort(int(c.pairs.list[n].point)) {
			before++
		}
	}
	if before > 0 && !c.dry(i) {
		c.verdict(i, Leaking, "delivers at %s too short to open its family", count(before, "pulse", "pulses"))
	}
	return c.injectors[i].Verdict == Leaking
}

// dry tells whether a leak test showed that an injector holds.
func (c *Checked) dry(i int) bool {
	return c.injectors[i].LeakTest && c.injectors[i].Verdict != Leaking
}

// tooShort tells whether a point's pulse opens at most one in four of the injectors
// measured there, of three or more.
func (f *family) tooShort(p int) bool {
	j := f.cond[p]
	if j < 0 || f.c.points[p].Pulse.Ms() >= math.Max(surelyShort, deadShare*f.curve.dead[j]) {
		return false
	}
	n := 0
	for _, pair := range f.c.pairs.at[p] {
		if f.y[pair] >= 0 {
			n++
		}
	}
	return n >= enoughFamily && 4*f.n[p] <= n
}

// judgeOutliers holds the injectors that work against each other.
func (c *Checked) judgeOutliers(f *family, members []int) {
	var gains, lates []float64
	working := 0
	for _, i := range members {
		if f.delivers(i) {
			working++
		}
		if f.told[i] > 0 {
			gains, lates = append(gains, f.gain[i]), append(lates, f.typicalLate(i))
		}
	}
	if working < enoughFamily {
		c.tooFew(working)
	}
	if len(gains) < enoughFamily {
		return
	}
	gainLimit := math.Max(outlierPart, outlierSpread*spread(gains, familyGain))
	lateLimit := math.Max(outlierLate, outlierSpread*spread(lates, familyLate))
	for _, i := range members {
		if f.told[i] == 0 {
			continue
		}
		if g := f.gain[i]; math.Abs(g) > gainLimit {
			c.verdict(i, Outlier, "flows %.1f %% %s than its family; up to %.0f %% would be its spread", 100*math.Abs(g), moreOrLess(g), 100*gainLimit)
			c.tellSlot(i)
		}
		c.judgeLate(f, i, lateLimit)
		c.judgeSilent(f, i)
	}
}

// tellSlot says where a slot would explain as much as the injector: it sat in one
// only, and no other injector did.
func (c *Checked) tellSlot(i int) {
	if len(c.sat[i]) != 1 {
		return
	}
	slot := c.sat[i][0]
	for j, others := range c.sat {
		if j != i && slices.Contains(others, slot) {
			return
		}
	}
	c.verdict(i, Outlier, "it alone sat in slot %s, so that the slot may be the reason: run it in another", c.slots.name(slot))
}

func moreOrLess(x float64) string {
	if x < 0 {
		return "less"
	}
	return "more"
}

// typicalLate is the median of an injector's lateness over the conditions, ms.
func (f *family) typicalLate(i int) float64 {
	return median(slices.Clone(f.late[i]))
}

// judgeLate finds one that opens late, or delivers at short pulses what only a leak
// or a spring that is too weak explains.
func (c *Checked) judgeLate(f *family, i int, limit float64) {
	late := f.typicalLate(i)
	if math.Abs(late) <= limit {
		return
	}
	n := f.shortest(i)
	if n == none {
		return
	}
	p := c.pairs.list[n].point
	part := 100 * (f.y[n]/f.eff[p] - 1)
	if late > 0 {
		c.verdict(i, Outlier, "opens %.2f ms later than its family: %+.0f %% at %s", late, part, c.points[p])
		return
	}
	if c.dry(i) {
		c.verdict(i, Outlier, "opens %.2f ms sooner than its family: %+.0f %% at %s, and dry in the leak test", -late, part, c.points[p])
		return
	}
	c.verdict(i, Leaking, "delivers %+.0f %% against its family at %s and %+.0f %% at long pulses: it leaks or opens far too early; a leak test tells", part, c.points[p], 100*f.gain[i])
}

// shortest is the pair of the least effective pulse that tells something of an
// injector, or none.
func (f *family) shortest(i int) int32 {
	best, least := int32(none), math.Inf(1)
	for n, end := f.c.pairs.ofInjector(i); n < end; n++ {
		p := f.c.pairs.list[n].point
		if f.cond[p] >= 0 && f.tells(n) && f.eff[p] > wellOpen && f.eff[p] < least {
			best, least = n, f.eff[p]
		}
	}
	return best
}

// judgeSilent finds one that does not open under some condition where all the others
// do, at half of the points there or more.
func (c *Checked) judgeSilent(f *family, i int) {
	rest := f.ofConditions(i)
	for j, cd := range f.conds {
		asked, nothing := 0, 0
		for ; len(rest) > 0 && f.condOf(rest[0]) == j; rest = rest[1:] {
			n, p := rest[0], c.pairs.list[rest[0]].point
			if f.y[n] < 0 || f.eff[p] < wellOpen || f.n[p] < 3 {
				continue
			}
			asked++
			if f.y[n] < leastEff {
				nothing++
			}
		}
		if asked > 1 && 2*nothing >= asked {
			c.verdict(i, Outlier, "does not open at %.4g V and %.4g kPa, where its family does", cd.voltage, cd.pressure/1e3)
		}
	}
}

// tooFew says that verdicts are not by comparison.
func (c *Checked) tooFew(n int) {
	if n == 0 {
		return
	}
	c.warn(c.sheet.whole(), "few-injectors", "%s too few to judge as a family: only what an injector shows by itself is judged (measure %d or more)",
		count(n, "injector that delivers is", "injectors that deliver are"), enoughFamily)
}

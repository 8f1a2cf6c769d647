package bench

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"injtab/fit/internal/lsq"
	"injtab/fit/unit"
)

// Limits of what is told of a session as a whole (common practice, no source).
const (
	runReadings  = 3     // of a run, to speak of it
	runOff       = 0.02  // relative, of one run
	driftRuns    = 6     // to speak of drift
	driftOff     = 0.015 // relative, from the first run to the last
	sessionSigma = 5.0   // standard deviations, of runs and slots
	memberSigma  = 4.0   // where slots are compared by different injectors
	slotOff      = 0.015 // relative
	slotReadings = 4     // of a slot
	slotMembers  = 3     // injectors that sat in one slot only
	sagVolts     = 0.15
	sagFit       = 0.7 // correlation of voltage and duty
	sagReadings  = 8
	tempRange    = 8.0 // K
	lowFlow      = 20  // ml/min, held open
	highOpen     = 4000
	lowRail      = 70 // kPa
)

// judgeSession looks for what went wrong with the session as a whole.
func (c *Checked) judgeSession(f *family, s *misses) {
	good := func(m miss) bool {
		x := c.pairOf(m.reading)
		return c.wrong[m.reading] == fine && c.injectors[x.injector].Verdict != Erratic && m.perShot >= 2*bendOver*f.flow[x.point]
	}
	slots := c.slotsOf()
	several := func(m miss) bool { return good(m) && len(slots[c.InjectorOf(m.reading)]) > 1 }
	c.judgeTwice()
	c.judgeRuns(c.tallies(s, runReadings, good, func(r *Reading) string { return r.Run }))
	c.judgeSlots(c.tallies(s, slotReadings, several, func(r *Reading) string { return r.Slot() }))
	c.judgeSlotsByMembers(f, slots)
	c.judgeSag()
	c.judgeTemp()
	c.judgeFlow(f)
	c.judgeNothing(f)
	c.judgeRise(f)
	c.judgePressure(f)
}

// judgeTwice finds rows of one run that are alike in everything: an injector delivers
// once in a run, so one was copied.
func (c *Checked) judgeTwice() {
	type key struct {
		run    string
		volume unit.Volume
	}
	first := map[key]int32{}
	var twice [][2]int32
	for n := range c.pairs.count() {
		clear(first)
		for _, k := range c.pairs.readings(int32(n)) {
			r := &c.sheet.Readings[k]
			if r.Run == "" {
				continue
			}
			at := key{r.Run, r.Volume}
			before, seen := first[at]
			if !seen {
				first[at] = k
			} else if c.alike(before, k) {
				twice = append(twice, [2]int32{before, k})
			}
		}
	}
	slices.SortFunc(twice, func(a, b [2]int32) int { return cmp.Compare(a[1], b[1]) })
	for _, pair := range twice {
		c.warn(c.sheet.At(c.sheet.Readings[pair[1]]), "written-twice", "the row repeats line %d of the same run in everything: delete it, or correct what was another reading", c.sheet.Readings[pair[0]].Line)
	}
}

// alike tells whether two readings are the same but for their place.
func (c *Checked) alike(a, b int32) bool {
	x, y := c.sheet.Readings[a], c.sheet.Readings[b]
	same := x.aside() == y.aside()
	x.Line, x.Aside = y.Line, y.Aside
	return same && x == y
}

// A tally is the misses of one run or slot.
type tally struct {
	name  string
	line  int // of its first reading
	parts []float64
	off   float64 // median
}

// tallies gathers misses by a name, in the order of the sheet; readings without one
// and names with few readings are left out.
func (c *Checked) tallies(s *misses, least int, counts func(miss) bool, name func(*Reading) string) []tally {
	at := map[string]int{}
	var all []tally
	last := 0
	for m := range s.all {
		r := &c.sheet.Readings[m.reading]
		n := name(r)
		if n == "" || !counts(m) {
			continue
		}
		if len(all) == 0 || n != all[last].name {
			k, seen := at[n]
			if !seen {
				k = len(all)
				at[n] = k
				all = append(all, tally{name: n, line: r.Line})
			}
			last = k
		}
		all[last].parts = append(all[last].parts, m.part)
	}
	all = slices.DeleteFunc(all, func(t tally) bool { return len(t.parts) < least })
	for k := range all {
		all[k].off = median(all[k].parts)
	}
	return all
}

// judgeRuns finds runs that gave more or less than the others, and a drift over them.
// Only runs that share points with others can tell.
func (c *Checked) judgeRuns(runs []tally) {
	if len(runs) < driftRuns {
		return
	}
	x, y := make([]float64, len(runs)), make([]float64, len(runs))
	for k, t := range runs {
		x[k], y[k] = float64(k), t.off
	}
	a, slope := lsq.TheilSen(x, y)
	rest := make([]float64, len(runs))
	for k := range rest {
		rest[k] = y[k] - a - slope*x[k]
	}
	_, scatter := lsq.MAD(rest)
	n := float64(len(runs))
	change := slope * (n - 1)
	if math.Abs(change) > driftOff && math.Abs(change) > sessionSigma*scatter*math.Sqrt(12/n) {
		c.warn(c.sheet.whole(), "drift", "from run %s to run %s the same injectors came to deliver %.1f %% %s: pressure, supply or temperature drifted; repeat a reference injector in every run",
			runs[0].name, runs[len(runs)-1].name, 100*math.Abs(change), moreOrLess(change))
	}
	for k, t := range runs {
		if off := rest[k]; math.Abs(off) > runOff && math.Abs(off) > sessionSigma*scatter && oneSided(t.parts, off) {
			at := c.sheet.whole()
			at.Line = t.line
			c.warn(at, "run-off", "run %s gave %.1f %% %s than the others with all of its injectors: pressure, supply or count was off; take it again", t.name, 100*math.Abs(off), moreOrLess(off))
		}
	}
}

// oneSided tells whether three quarters of the misses are on the side of off.
func oneSided(parts []float64, off float64) bool {
	same := 0
	for _, p := range parts {
		if p*off > 0 {
			same++
		}
	}
	return 4*same >= 3*len(parts)
}

// judgeSlots compares slots by injectors that sat in several.
func (c *Checked) judgeSlots(all []tally) {
	for _, t := range all {
		size := make([]float64, len(t.parts))
		for k, p := range t.parts {
			size[k] = math.Abs(p - t.off)
		}
		se := madToSigma * median(size) * math.Sqrt(medianVariance/float64(len(size)))
		if len(all) > 1 && math.Abs(t.off) > slotOff && math.Abs(t.off) > sessionSigma*se {
			c.warn(c.sheet.whole(), "slot", "slot %s gives %.1f %% %s than the others with the same injectors: check its feed and its vessel", t.name, 100*math.Abs(t.off), moreOrLess(t.off))
		}
	}
}

// slotsOf lists the slots that each injector sat in.
func (c *Checked) slotsOf() [][]string {
	slots := make([][]string, len(c.injectors))
	for k := range c.sheet.Readings {
		slot, i := c.sheet.Readings[k].Slot(), c.InjectorOf(k)
		if slot != "" && !slices.Contains(slots[i], slot) {
			slots[i] = append(slots[i], slot)
		}
	}
	return slots
}

// judgeSlotsByMembers compares slots by the injectors that sat in one only: many
// injectors low in one slot are more likely a low slot.
func (c *Checked) judgeSlotsByMembers(f *family, slots [][]string) {
	members := map[string][]float64{}
	for i, list := range slots {
		if len(list) != 1 || f.told[i] == 0 || c.injectors[i].Verdict >= Erratic {
			continue
		}
		members[list[0]] = append(members[list[0]], f.gain[i])
	}
	names := slices.SortedFunc(maps.Keys(members), CompareNatural)
	var within []float64 // deviations from the middle of the slot
	for _, s := range names {
		middle := median(slices.Clone(members[s]))
		for _, g := range members[s] {
			within = append(within, g-middle)
		}
	}
	sd := spread(within, familyGain)
	for _, s := range names {
		n, rest := float64(len(members[s])), float64(len(within)-len(members[s]))
		off := median(slices.Clone(members[s]))
		limit := memberSigma * sd * math.Sqrt(medianVariance*(1/n+1/rest))
		if n >= slotMembers && rest >= slotMembers && math.Abs(off) > math.Max(2*slotOff, limit) {
			c.warn(c.sheet.whole(), "slot", "the %d injectors that sat in slot %s flow %.1f %% %s than the others: the slot may be the reason; run one of them in another slot", len(members[s]), s, 100*math.Abs(off), moreOrLess(off))
		}
	}
}

// Settings of the supply are told from its noise by a gap between them.
const (
	setApart   = 0.6 // V
	supplyStep = setApart / 2
)

// judgeSag finds a supply that falls as the duty grows.
func (c *Checked) judgeSag() {
	steps := map[int]*supply{} // of so little that no gap fits into one
	for k := range c.sheet.Readings {
		if r := &c.sheet.Readings[k]; !r.Leak() {
			at := int(r.Voltage.V() / supplyStep)
			if steps[at] == nil {
				steps[at] = &supply{}
			}
			steps[at].add(r.Voltage.V(), float64(r.Pulse/r.Period))
		}
	}
	var set supply // one setting
	for _, at := range slices.Sorted(maps.Keys(steps)) {
		if next := steps[at]; set.n > 0 && next.lo-set.hi >= setApart {
			c.tellSag(set)
			set = *next
		} else {
			set.join(*next)
		}
	}
	c.tellSag(set)
}

func (c *Checked) tellSag(s supply) {
	if s.sags() {
		c.warn(c.sheet.whole(), "sag", "the supply falls from %.4g to %.4g V as the pulses grow longer: dead time depends on it; use a stiffer supply or note the voltage at the injector while it is driven", s.hi, s.lo)
	}
}

// judgeTemp warns of a fluid that warmed or cooled.
func (c *Checked) judgeTemp() {
	lo, hi := unit.Temperature(math.Inf(1)), unit.Temperature(0)
	for k := range c.sheet.Readings {
		if temp := c.sheet.Readings[k].Temp; temp > 0 {
			lo, hi = min(lo, temp), max(hi, temp)
		}
	}
	if hi > 0 && float64(hi-lo) > tempRange {
		c.warn(c.sheet.whole(), "temperature", "the fluid went from %.3g to %.3g °C: flow changes with it; let it settle, or compare only what was measured at like temperatures", lo.C(), hi.C())
	}
}

// judgeFlow warns of a flow that no port injector has: a unit or a count is likely
// wrong throughout.
func (c *Checked) judgeFlow(f *family) {
	if !f.timed {
		return
	}
	flow := unit.VolumeFlow(c.openFlow(f)).MlMin()
	if flow > 0 && (flow < lowFlow || flow > highOpen) {
		c.warn(c.sheet.whole(), "flow", "the injectors would flow about %.2g ml/min held open, which port injectors hardly do: check the units of volume, pulse and shots", flow)
	}
	if r := c.sheet.Readings[0]; r.Pressure.KPa() < lowRail && !r.Leak() {
		at := c.sheet.At(r)
		at.Column = "" // that of the amount
		c.warn(at, "low-pressure", "%.4g kPa is lower than port injectors are run at: is the number in psi but the column in kPa?", r.Pressure.KPa())
	}
}

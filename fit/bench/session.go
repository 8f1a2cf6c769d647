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
func (c *Checked) judgeSession(f *family, s *misses, comparable []bool) {
	several := make([]bool, c.pairs.count())
	for n, yes := range comparable {
		several[n] = yes && len(c.sat[c.pairs.list[n].injector]) > 1
	}
	c.judgeSlots(c.slots.tally(s, slotReadings, several))
	c.judgeSlotsByMembers(f)
	c.judgeSag()
	c.judgeTemp()
	c.judgeFlow(f)
	c.judgeNothing(f)
	c.judgeRise(f)
	c.judgePressure(f)
}

// comparable marks the pairs by which runs and slots can be compared.
func (c *Checked) comparable(f *family, s *misses) []bool {
	marked := make([]bool, c.pairs.count())
	for n, e := range s.expected {
		x := c.pairs.list[n]
		marked[n] = e.sigma > 0 && c.injectors[x.injector].Verdict != Erratic && e.perShot >= 2*bendOver*f.flow[x.point]
	}
	return marked
}

// A copied is a reading that repeats another in everything.
type copied struct{ from, to int32 }

// findTwice finds rows of one run that are alike in everything: an injector delivers
// once in a run, so one was copied.
func (c *Checked) findTwice(runs grouping) (twice []copied) {
	if len(runs.keys) == 0 {
		return nil
	}
	var list []int32
	compare := func(a, b int32) int {
		return cmp.Or(cmp.Compare(runs.group(int(a)), runs.group(int(b))), cmp.Compare(c.sheet.Readings.rows[a].volume, c.sheet.Readings.rows[b].volume))
	}
	for n, falls := range c.falling(runs) {
		if !falls {
			continue
		}
		list = append(list[:0], c.pairs.readings(int32(n))...)
		slices.SortStableFunc(list, compare)
		first := 0 // of one run and volume
		for j := 1; j < len(list); j++ {
			if compare(list[first], list[j]) != 0 {
				first = j
			} else if runs.group(int(list[j])) != none && c.alike(list[first], list[j]) {
				twice = append(twice, copied{list[first], list[j]})
			}
		}
	}
	slices.SortFunc(twice, func(a, b copied) int { return cmp.Compare(a.to, b.to) })
	return twice
}

// falling marks the pairs of which some reading is of no later run than the one before: no
// other can have two of one run.
func (c *Checked) falling(runs grouping) []bool {
	falls, last := make([]bool, c.pairs.count()), make([]int32, c.pairs.count())
	for k, n := range c.pairs.of {
		next := runs.group(k) + 1 - none // above that of no reading
		falls[n] = falls[n] || next <= last[n]
		last[n] = next
	}
	return falls
}

func (c *Checked) tellTwice(twice []copied) {
	for _, x := range twice {
		c.warn(c.sheet.at(int(x.to)), "written-twice", "the row repeats line %d of the same run in everything: delete it, or correct what was another reading", c.sheet.Readings.rows[x.from].line)
	}
}

// alike tells whether two readings are the same but for their place.
func (c *Checked) alike(a, b int32) bool {
	x, y := c.sheet.Readings.At(int(a)), c.sheet.Readings.At(int(b))
	x.Line = y.Line
	return x == y
}

// A course is how what groups are off changes from the first to the last, as a straight line.
type course struct {
	change  float64
	rest    []float64 // of each group, beside the line
	scatter float64   // of the rest; 0 where all is too small to ask for it
}

// course is that of the groups with enough misses; zero where these are few.
func (t tallies) course() course {
	count := len(t.list)
	if count < driftRuns {
		return course{}
	}
	x, y := make([]float64, count), make([]float64, count)
	for k, n := range t.list {
		x[k], y[k] = float64(k), t.off[n]
	}
	a, slope := lsq.TheilSen(x, y)
	rest := y
	for k := range rest {
		rest[k] = y[k] - a - slope*x[k]
	}
	c := course{change: slope * float64(count-1), rest: rest}
	if math.Abs(c.change) > driftOff || slices.ContainsFunc(rest, func(off float64) bool { return math.Abs(off) > runOff }) {
		_, c.scatter = lsq.MAD(rest)
	}
	return c
}

// judgeRuns finds runs that gave more or less than the others, and a drift over them.
// Only runs that share points with others can tell.
func (c *Checked) judgeRuns(runs tallies, over course) {
	count, change, scatter := len(runs.list), over.change, over.scatter
	if math.Abs(change) > driftOff && math.Abs(change) > sessionSigma*scatter*math.Sqrt(12/float64(count)) {
		c.warn(c.sheet.whole(), "drift", "from run %s to run %s the same injectors came to deliver %.1f %% %s: pressure, supply or temperature drifted; repeat a reference injector in every run",
			runs.name(runs.list[0]), runs.name(runs.list[count-1]), 100*math.Abs(change), moreOrLess(change))
	}
	for k, off := range over.rest {
		if n := runs.list[k]; math.Abs(off) > runOff && math.Abs(off) > sessionSigma*scatter && oneSided(runs.partsOf(n), off) {
			at := c.sheet.whole()
			at.Line = c.firstLine(runs.grouping, n)
			c.warn(at, "run-off", "run %s gave %.1f %% %s than the others with all of its injectors: pressure, supply or count was off; take it again", runs.name(n), 100*math.Abs(off), moreOrLess(off))
		}
	}
}

// firstLine is that of the first reading of a group.
func (c *Checked) firstLine(g grouping, n int32) int {
	for k, x := range c.sheet.Readings.rows {
		if g.group(k) == n {
			return int(x.line)
		}
	}
	return 0
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
func (c *Checked) judgeSlots(slots tallies) {
	for _, n := range slots.list {
		off, parts := slots.off[n], slots.partsOf(n)
		size := make([]float64, len(parts))
		for k, p := range parts {
			size[k] = math.Abs(p - off)
		}
		se := madToSigma * median(size) * math.Sqrt(medianVariance/float64(len(size)))
		if len(slots.list) > 1 && math.Abs(off) > slotOff && math.Abs(off) > sessionSigma*se {
			c.warn(c.sheet.whole(), "slot", "slot %s gives %.1f %% %s than the others with the same injectors: check its feed and its vessel", slots.name(n), 100*math.Abs(off), moreOrLess(off))
		}
	}
}

// slotsOf lists the slots that each injector sat in.
func (c *Checked) slotsOf() [][]int32 {
	sat := make([][]int32, len(c.injectors))
	if len(c.slots.keys) == 0 {
		return sat
	}
	for k := range c.wrong {
		if i, n := c.InjectorOf(k), c.slots.group(k); n != none && !slices.Contains(sat[i], n) {
			sat[i] = append(sat[i], n)
		}
	}
	return sat
}

// judgeSlotsByMembers compares slots by the injectors that sat in one only: many
// injectors low in one slot are more likely a low slot.
func (c *Checked) judgeSlotsByMembers(f *family) {
	members := map[string][]float64{}
	for i, list := range c.sat {
		if len(list) != 1 || f.told[i] == 0 || c.injectors[i].Verdict >= Erratic {
			continue
		}
		slot := c.slots.name(list[0])
		members[slot] = append(members[slot], f.gain[i])
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
	var step *supply
	last := 0
	for j, n := range c.readingsOf {
		if x := &c.sheet.Readings.commons[j]; n > 0 && !x.leak() {
			if at := int(x.voltage.V() / supplyStep); step == nil || at != last {
				if steps[at] == nil {
					steps[at] = &supply{}
				}
				step, last = steps[at], at
			}
			step.join(newSupply(float64(n), x.voltage.V(), float64(x.pulse/x.period)))
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
	for j, n := range c.readingsOf {
		if temp := c.sheet.Readings.commons[j].temp; n > 0 && temp > 0 {
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
	if r := c.sheet.Readings.At(0); r.Pressure.KPa() < lowRail && !r.Leak() {
		at := c.sheet.At(r)
		at.Column = "" // that of the amount
		c.warn(at, "low-pressure", "%.4g kPa is lower than port injectors are run at: is the number in psi but the column in kPa?", r.Pressure.KPa())
	}
}

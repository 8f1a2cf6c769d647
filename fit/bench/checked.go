package bench

import (
	"fmt"
	"iter"

	"injtab/fit/diag"
	"injtab/fit/unit"
)

// Verdict is the judgement on an injector.
type Verdict uint8

const (
	Sound   Verdict = iota
	Outlier         // works, but outside its family
	Erratic         // repeats or residuals far above the reading noise
	Leaking         // delivers with no or too short a pulse
	Dead            // delivers nothing where its family delivers
)

func (v Verdict) String() string {
	return [...]string{"sound", "outlier", "erratic", "leaking", "dead"}[v]
}

// An Injector is one column of the notebook with its verdict.
type Injector struct {
	ID       string
	Verdict  Verdict
	Reasons  []string        // sentences
	Leak     unit.VolumeFlow // from leak tests; meaningful only if LeakTest
	LeakTest bool
}

// A Point is a condition that injectors are compared at. Readings belong to one
// point when pulse and period are equal, pressure agrees within 1 % and voltage
// within 0.1 V.
type Point struct {
	Pulse, Period unit.Time
	Pressure      unit.Pressure
	Voltage       unit.Voltage
	Static        bool // held open
	Leak          bool // no pulses
}

// String names a point as tables do: "2 ms 300 kPa 13.5 V".
func (p Point) String() string {
	rail := fmt.Sprintf("%.4g kPa", p.Pressure.KPa())
	switch {
	case p.Leak:
		return "leak test " + rail
	case p.Static:
		return fmt.Sprintf("held open %s %.4g V", rail, p.Voltage.V())
	}
	return fmt.Sprintf("%.6g ms %s %.4g V", p.Pulse.Ms(), rail, p.Voltage.V())
}

// A Mean is what one injector delivered per shot at one point: the mean of the
// repeats whose readings were not judged wrong.
type Mean struct {
	PerShot unit.Volume
	U       unit.Volume // standard uncertainty of the mean: vessel, count, repeats
	N       int         // readings; 0: not measured
}

// Checked is a sheet that Check has judged; only Check fills it.
type Checked struct {
	sheet     Sheet
	injectors []Injector     // natural order of ID
	points    []Point        // by voltage, pressure, pulse; leak tests last
	pairs     pairs          // of injectors and points
	means     []Mean         // by pair
	families  []Mean         // by point: of the sound injectors, N their number
	wrong     []fault        // by reading
	why       map[int]string // by reading that is wrong, rows left out
	rows      []string       // by point: why it is wrong as a whole, "" if it is not
	notes     []diag.Note
	erratic   []bool  // by injector, whatever its verdict
	rest      []sums  // by pair: of readings that are not held and not wrong; nil: there are none
	restOut   []int32 // by pair: how many of those not held are wrong

	readingsOf []int32   // by what readings have in common: how many they are
	pointOf    []int32   // and their point
	scale      []float64 // and what turns their volume into that of a shot
	step       []float64 // and what part of it one shot, or the timer's step, is
	slots      grouping
	sat        [][]int32   // by injector: the slots that it sat in
	shown      []float64   // of a shot, m³, in the order of pairs: those of a pair lie together
	extremes   []extremes  // by pair
	division   unit.Volume // of readings that name none
	technique  float64     // relative
}

// A fault is in what way a reading is wrong.
type fault uint8

const (
	fine fault = iota
	doesNotFit
	slippedAway // belongs to another row
	rowIsWrong  // with all others of its point
)

func (c *Checked) Sheet() Sheet          { return c.sheet }
func (c *Checked) Setup() Setup          { return c.sheet.Setup }
func (c *Checked) Readings() Readings    { return c.sheet.Readings }
func (c *Checked) Injectors() []Injector { return c.injectors }
func (c *Checked) Points() []Point       { return c.points }

// Mean is what injector i delivered at point p, both as indexes of the lists.
func (c *Checked) Mean(i, p int) Mean {
	if n := c.pairs.find(i, p); n != none {
		return c.means[n]
	}
	return Mean{}
}

// Wrong says why reading i was judged wrong; "" if it was not.
func (c *Checked) Wrong(i int) string {
	switch c.wrong[i] {
	case fine:
		return ""
	case rowIsWrong:
		return c.rows[c.PointOf(i)]
	}
	return c.why[i]
}

// Weight is how sure the amount of reading i is.
func (c *Checked) Weight(i int) Weight {
	return c.weightOf(i, c.sheet.Readings.rows[i].volume)
}

// Repeats goes through the points at which injector i was measured, in their order, each
// with its readings in the order of the sheet.
func (c *Checked) Repeats(i int) iter.Seq2[int, []int32] {
	list, pairs := c.pairs.list, c.pairs
	return func(yield func(int, []int32) bool) {
		for n, end := pairs.ofInjector(i); n < end; n++ {
			if !yield(int(list[n].point), pairs.readings(n)) {
				return
			}
		}
	}
}

// InjectorOf and PointOf are the indexes of what reading i belongs to.
func (c *Checked) InjectorOf(i int) int { return int(c.pairOf(i).injector) }
func (c *Checked) PointOf(i int) int    { return int(c.pairOf(i).point) }

func (c *Checked) pairOf(reading int) *pair { return &c.pairs.list[c.pairs.of[reading]] }

// Sound lists the indexes of the injectors that were judged sound.
func (c *Checked) Sound() []int {
	var list []int
	for i, inj := range c.injectors {
		if inj.Verdict == Sound {
			list = append(list, i)
		}
	}
	return list
}

// FamilyMean is the mean delivery per shot of the sound injectors that were measured
// at point p, and how many they are.
func (c *Checked) FamilyMean(p int) (unit.Volume, int) {
	return c.families[p].PerShot, c.families[p].N
}

// Deviation is by how many per cent injector i delivers more, at point p, than the
// mean of the sound injectors there; false where it or they were not measured, they
// deliver nothing, or no pulses were run.
func (c *Checked) Deviation(i, p int) (pct float64, ok bool) {
	mean, n := c.FamilyMean(p)
	m := c.Mean(i, p)
	if c.points[p].Leak || n == 0 || mean <= 0 || m.N == 0 {
		return 0, false
	}
	return 100 * (float64(m.PerShot)/float64(mean) - 1), true
}

// FlowAt is what injector i delivered per time at point p: the mean per shot over
// the period; false where it was not measured.
func (c *Checked) FlowAt(i, p int) (unit.VolumeFlow, bool) {
	m := c.Mean(i, p)
	if m.N == 0 {
		return 0, false
	}
	return unit.VolumeFlow(float64(m.PerShot) / float64(c.points[p].Period)), true
}

// HighestDuty is what injector i delivered per time of being driven, at the point of
// the largest share of pulse in period (held open, where that was measured); false
// where it delivered nothing.
func (c *Checked) HighestDuty(i int) (flow unit.VolumeFlow, p int, ok bool) {
	best := 0.0
	for n, end := c.pairs.ofInjector(i); n < end; n++ {
		q := int(c.pairs.list[n].point)
		pt := c.points[q]
		duty := float64(pt.Pulse) / float64(pt.Period)
		if m := c.means[n]; m.PerShot > 0 && duty > best {
			best, p, ok = duty, q, true
			flow = unit.VolumeFlow(float64(m.PerShot) / float64(pt.Pulse))
		}
	}
	return flow, p, ok
}

// Notes are the findings, in the order of the file.
func (c *Checked) Notes() []diag.Note { return c.notes }

package bench

import (
	"cmp"
	"math"
	"slices"

	"injtab/fit/unit"
)

// Limits below which more time or more pressure gave no more fuel (common practice,
// no source): a vessel ran over, a number was copied down, or a gauge was not read.
const (
	longer      = 1.2  // of the shorter pulse
	higher      = 1.1  // of the lower pressure
	noMore      = 1.02 // of what the shorter pulse delivered
	orificeLeft = 0.3  // of the change that an orifice makes
	sureEff     = 0.3  // ms: below, readings are too small to tell
)

// judgeNothing warns where no injector delivers at all: the bench is at fault, not
// every injector.
func (c *Checked) judgeNothing(f *family) {
	pulsed := slices.ContainsFunc(c.points, func(p Point) bool { return !p.Leak })
	some := false
	for i := range c.injectors {
		some = some || f.delivers(i)
	}
	if pulsed && !some {
		c.warn(c.sheet.whole(), "nothing-delivered", "no injector delivered anything: look for the fault in pump, pressure, driver and wiring first")
	}
}

// judgeRise warns where the family delivers no more with a longer pulse.
func (c *Checked) judgeRise(f *family) {
	for _, cd := range f.conds {
		order := f.delivering(func(p Point) bool {
			return !differ(float64(p.Pressure), cd.pressure, samePressure*cd.pressure) && !differ(p.Voltage.V(), cd.voltage, sameVoltage)
		}, func(a, b Point) int { return cmp.Compare(a.Pulse, b.Pulse) })
		for k := 1; k < len(order); k++ {
			p, q := order[k-1], order[k]
			a, b := c.points[p], c.points[q]
			if float64(b.Pulse) > longer*float64(a.Pulse) && f.perShot(q) < noMore*f.perShot(p) {
				c.warn(c.sheet.At(f.firstAt(q)), "no-more-fuel", "%s: delivered no more than %s (%.3g and %.3g ml a shot): did a vessel run over, or was a number copied down? Measure both again",
					b, a, unit.Volume(f.perShot(q)).Ml(), unit.Volume(f.perShot(p)).Ml())
			}
		}
	}
}

// judgePressure warns where the pressures that were written make no difference.
func (c *Checked) judgePressure(f *family) {
	all := func(Point) bool { return true }
	order := f.delivering(all, func(a, b Point) int {
		return cmp.Or(cmp.Compare(a.Pulse, b.Pulse), cmp.Compare(a.Period, b.Period), cmp.Compare(a.Voltage, b.Voltage), cmp.Compare(a.Pressure, b.Pressure))
	})
	var left []float64 // of the orifice's change
	at := -1
	for k := 1; k < len(order); k++ {
		p, q := order[k-1], order[k]
		a, b := c.points[p], c.points[q]
		alike := nano(a.Pulse) == nano(b.Pulse) && nano(a.Period) == nano(b.Period) && !differ(a.Voltage.V(), b.Voltage.V(), sameVoltage)
		if ratio := float64(b.Pressure / a.Pressure); alike && ratio > higher {
			left = append(left, math.Log(f.perShot(q)/f.perShot(p))/(0.5*math.Log(ratio)))
			at = q
		}
	}
	if at >= 0 && median(left) < orificeLeft {
		c.warn(c.sheet.At(f.firstAt(at)), "no-more-fuel", "a higher pressure gave hardly more fuel, where an orifice passes more by the root of the pressure: were the pressures set and read as they are written?")
	}
}

// delivering are the points among some at which the family delivers enough to tell,
// in order.
func (f *family) delivering(among func(Point) bool, order func(a, b Point) int) (list []int) {
	for p := range f.eff {
		if at := f.c.points[p]; !at.Leak && f.eff[p] > sureEff && among(at) {
			list = append(list, p)
		}
	}
	slices.SortStableFunc(list, func(p, q int) int { return order(f.c.points[p], f.c.points[q]) })
	return list
}

// perShot is what the middle of the family delivers at a point, m³.
func (f *family) perShot(p int) float64 { return f.eff[p] * f.flow[p] }

// firstAt is the first reading of a point.
func (f *family) firstAt(p int) Reading {
	first := f.c.sheet.Readings.Len()
	for k := range f.c.readingsAt(p) {
		first = min(first, k)
	}
	return f.c.sheet.Readings.At(first)
}

func differ(a, b, limit float64) bool { return math.Abs(a-b) > limit }

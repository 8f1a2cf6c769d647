package fit

import (
	"cmp"
	"fmt"
	"math"

	"injtab/fit/bench"
	"injtab/fit/internal/lsq"
)

// A source is where the errors of one planned reading come from, all in µl per shot.
type source struct {
	g, i   int     // group of the fit and place in it
	own    float64 // standard deviation of what is this reading's alone
	run    int     // readings of one run share the next three
	drift  float64 // per standard deviation of the run's pressure
	supply float64 // per standard deviation of the run's voltage
	count  float64 // per standard deviation of the run's count
	vessel int     // readings of one vessel share its calibration
	q      float64 // delivered
	gauge  float64 // per relative error of the pressure gauge
	meter  float64 // per relative error of the voltmeter
	timer  float64 // per ms of the pulse
	sd     float64 // standard uncertainty that the fit believes
}

// sources lists them in the order of the groups.
func (e Expectation) sources(f family, s lsq.Start, readings bench.Readings, d dataset) []source {
	var out []source
	runs, vessels := numbering{}, numbering{}
	for g, group := range d.groups {
		for i, x := range group {
			r, sc := readings.At(x.reading), e.Scatter
			src := f.slopes(s, x.c)
			src.g, src.i = g, i
			src.run = runs.of(cmp.Or(r.Run, fmt.Sprintf("\x00%d", x.reading)))
			src.vessel = vessels.of(cmp.Or(r.Vessel, r.Slot))
			w := d.checked.Weight(x.reading)
			division := w.Division.Ml() * math.Sqrt(12)
			perShot := microlitres / r.Shots
			read := math.Hypot(w.Division.Ml(), math.Hypot(sc.Residue.Ml(), float64(sc.Judgement)*division)) * perShot
			src.own = math.Hypot(read, float64(sc.Technique)*src.q)
			src.count = w.Count.Ml() * perShot
			src.drift = src.gauge * float64(sc.Pressure)
			src.supply = src.meter * sc.Voltage.V() / x.c.v
			src.sd = x.sd
			out = append(out, src)
		}
	}
	return out
}

// slopes are a shot's volume and its slopes over what the gauges tell.
func (f family) slopes(s lsq.Start, c condition) source {
	const h = 1e-4
	q := func(change func(*condition, float64), by float64) float64 {
		moved := c
		change(&moved, by)
		return math.Max(f.deliver(s.Local[0], s.Shared, moved, nil, nil).q, 0)
	}
	slope := func(change func(*condition, float64)) float64 { return (q(change, h) - q(change, -h)) / (2 * h) }
	src := source{
		q:     q(func(*condition, float64) {}, 0),
		gauge: slope(func(c *condition, x float64) { c.p *= 1 + x }),
		meter: slope(func(c *condition, x float64) { c.v *= 1 + x }),
	}
	if !c.static {
		src.timer = slope(func(c *condition, x float64) { c.pulse += x })
	}
	return src
}

// common is the standard deviation that all readings of a run share.
func (s source) common() float64 { return math.Hypot(s.count, math.Hypot(s.drift, s.supply)) }

// random is the standard deviation of one reading from session to session.
func (s source) random() float64 { return math.Hypot(s.own, s.common()) }

// usualForm is what the form of the model is expected to miss of a short pulse: see
// Noise.ShortPct (of simulated injectors).
const usualForm = 1.0

// expectedNoise is the noise that the fit would estimate from the residuals.
func expectedNoise(f family, s lsq.Start, d dataset, src []source) Noise {
	const normalMedian = 0.6745
	var long, short []residual
	for _, x := range src {
		w := f.deliver(s.Local[x.g], s.Shared, d.groups[x.g][x.i].c, nil, nil).w
		form := Noise{ShortPct: usualForm}.relative(w)
		r := residual{miss: normalMedian * math.Hypot(x.random()/x.q, form), sd: x.sd / x.q, w: w}
		if w >= 2 {
			long = append(long, r)
		} else {
			short = append(short, r)
		}
	}
	n := Noise{RelativePct: 100 * solveScale(long, func(residual) float64 { return 1 }, 0)}
	if len(long) < 6 {
		n.RelativePct = 0.3
	}
	n.RelativePct = math.Max(n.RelativePct, leastRelativePct)
	fade := func(r residual) float64 { return math.Exp(-(r.w - ShortAt) / ShortFade) }
	n.ShortPct = 100 * solveScale(short, fade, n.RelativePct/100)
	return n
}

// A numbering counts names as they come.
type numbering map[string]int

func (n numbering) of(name string) int {
	k, ok := n[name]
	if !ok {
		k = len(n)
		n[name] = k
	}
	return k
}

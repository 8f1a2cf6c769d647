package fit

import (
	"fmt"
	"math"
	"sync"

	"injtab/fit/internal/lsq"
)

// A Choice is one form that was tried, and how well it did.
type Choice struct {
	DeadTime, Bend string  // in words
	Params         int     // shared parameters
	AICc           float64 // corrected Akaike criterion less that of the best; 0 proposes
	HeldOut        float64 // rms of held-out readings in standard uncertainties; 0: not compared
	Chosen         bool
}

func (c Choice) String() string {
	return fmt.Sprintf("dead time: %s; short pulses: %s", c.DeadTime, c.Bend)
}

// A candidate is a form with its name in words.
type candidate struct {
	family
	deadName, bendName string
}

const (
	coilName    = "rise of the coil current"
	wholeName   = "rise of the coil current, injectors differ by a factor on the whole"
	curveName   = "curve through the measured voltages"
	levelName   = "one dead time at the one voltage measured"
	returnName  = "exponential return to the line"
	voltageName = "exponential return to the line, by voltage"
	liftName    = ", and a needle that does not reach its stop"
)

// A forms lists the forms that the session can support, the default first.
type forms struct {
	deads     []deadCurve
	deadNames []string
	bends     []returning
	bendNames []string
	freeN     bool
	refP      float64
	refV      float64
}

func (f forms) candidate(dead, bend int) candidate {
	return candidate{newFamily(f.refP, f.refV, f.freeN, f.deads[dead], f.bends[bend]), f.deadNames[dead], f.bendNames[bend]}
}

func supported(d dataset, gs guess, refP, refV float64, o Options) forms {
	voltages, pressures := d.voltages(), d.pressures()
	f := forms{freeN: len(d.flowPressures()) > 1, refP: refP, refV: refV}
	if len(voltages) > 1 || o.Assume {
		c := coil{ref: refP}
		if len(voltages) > 3 {
			c.nodes = nodes{voltages}
		}
		whole := c
		whole.whole = true
		f.deads, f.deadNames = []deadCurve{c, whole}, []string{coilName, wholeName}
	}
	if !o.Assume || len(voltages) > 1 {
		name := curveName
		if len(voltages) == 1 {
			name = levelName
		}
		f.deads = append(f.deads, curve{ref: refP, nodes: nodes{voltages}, pressure: len(pressures) > 1})
		f.deadNames = append(f.deadNames, name)
	}
	f.bendForms(d, gs, nearest(gs.points, refP, refV))
	return f
}

const (
	shortOpen  = 1.6 // ms of open time below which a pulse tells of the bend
	mayNotStop = 0.9 // ms of open time below which a needle may not reach its stop
)

func (f *forms) bendForms(d dataset, gs guess, refD float64) {
	short, ballistic := map[float64]int{}, 0
	for _, x := range d.all {
		w := x.c.pulse - nearest(gs.points, x.c.p, x.c.v)
		if !x.c.static && w < shortOpen {
			short[x.c.v]++
		}
		if !x.c.static && w < mayNotStop {
			ballistic++
		}
	}
	one := returning{refD: refD}
	f.bends, f.bendNames = []returning{one}, []string{returnName}
	if len(short) > 1 {
		two := one
		two.voltage = true
		f.bends, f.bendNames = append(f.bends, two), append(f.bendNames, voltageName)
	}
	if ballistic >= 4 {
		for i, b := range f.bends {
			b.lift = true
			f.bends, f.bendNames = append(f.bends, b), append(f.bendNames, f.bendNames[i]+liftName)
		}
	}
}

// firstNoise is assumed until residuals tell.
var firstNoise = Noise{RelativePct: 0.4, ShortPct: 1.5}

// choose fits the default form robustly. The other forms then compete with the
// weights and uncertainties found there: the bends first, then the dead-time
// curves with the winning bend. The corrected Akaike criterion proposes; between
// the best two, readings held out decide. The winner is fitted again.
func choose(all dataset, gsAll guess, refP, refV float64, o Options) (solution, []Choice, error) {
	f := supported(all, gsAll, refP, refV, o)
	d, members := all.forShapes()
	gs := gsAll.of(members)
	first, err := f.firstOf(d, gs)
	if err != nil {
		return solution{}, nil, err
	}
	r := newRace(first, gs)
	var bends, deads []candidate
	for bend := range f.bends {
		bends = append(bends, f.candidate(0, bend))
	}
	r.run(bends)
	winner := r.best()
	for dead := range f.deads[1:] {
		deads = append(deads, f.candidate(dead+1, winner))
	}
	r.run(deads)
	for {
		best := r.decide()
		start, warm := r.start(best), r.scores[best] < worstCriterion
		if members != nil {
			start, warm = lsq.Start{Shared: start.Shared, Local: r.entries[best].startFrom(gsAll, len(all.groups)).Local}, false
		}
		out, err := solve(r.entries[best].family, all, start, first.noise, 1, warm, searchOptions)
		if err == nil || !r.drop(best) {
			return out, r.choices(best), err
		}
	}
}

// firstOf fits the default form robustly, or where that does not settle the first that
// does.
func (f forms) firstOf(d dataset, gs guess) (out solution, err error) {
	for dead := range f.deads {
		for bend := range f.bends {
			c := f.candidate(dead, bend)
			s, failed := solve(c.family, d, c.startFrom(gs, len(d.groups)), firstNoise, 3, false, raceOptions)
			if failed == nil {
				return s, nil
			}
			if err == nil {
				err = failed
			}
		}
	}
	return out, err
}

// A race compares forms on the same readings, weights and uncertainties.
type race struct {
	first   solution
	gs      guess
	sd      [][]float64 // uncertainty of each reading
	entries []candidate
	fits    []lsq.Solution
	scores  []float64 // AICc
	heldOut []float64
}

// worstCriterion is the score of a form that can't be fitted.
const worstCriterion = 1e300

func newRace(first solution, gs guess) *race {
	start := lsq.Start{Shared: first.Shared, Local: first.Local}
	return &race{first: first, gs: gs, sd: first.deviations(first.data, start, first.noise)}
}

// run fits the candidates, each on its own, side by side.
func (r *race) run(cs []candidate) {
	at := len(r.entries)
	r.entries = append(r.entries, cs...)
	r.fits = append(r.fits, make([]lsq.Solution, len(cs))...)
	r.scores = append(r.scores, make([]float64, len(cs))...)
	r.heldOut = append(r.heldOut, make([]float64, len(cs))...)
	var wait sync.WaitGroup
	for i, c := range cs {
		wait.Go(func() { r.fits[at+i], r.scores[at+i] = r.try(c) })
	}
	wait.Wait()
}

// try fits one candidate and scores it.
func (r *race) try(c candidate) (lsq.Solution, float64) {
	p := c.problem(r.first.data, r.sd)
	p.Weights = r.first.weights
	fit, err := lsq.Levenberg(p, c.startNear(r.first, r.gs), raceOptions)
	if err != nil {
		fit, err = lsq.Levenberg(p, c.startFrom(r.gs, len(r.first.data.groups)), raceOptions)
	}
	if err != nil {
		return fit, worstCriterion
	}
	score := lsq.AICc(fit.RSS, fit.N, c.shared()+locals*len(r.first.data.groups))
	if !(score < worstCriterion) { // which one that is no number is not, either
		return fit, worstCriterion
	}
	return fit, score
}

func (r *race) best() int {
	best := 0
	for i, s := range r.scores {
		if s < r.scores[best] {
			best = i
		}
	}
	return best
}

// decide takes the better by held-out readings of the two best by AICc.
func (r *race) decide() int {
	best, second := r.best(), -1
	for i, s := range r.scores {
		if i != best && s < worstCriterion && (second < 0 || s < r.scores[second]) {
			second = i
		}
	}
	if second < 0 || r.scores[best] >= worstCriterion {
		return best
	}
	r.heldOut[best], r.heldOut[second] = r.holdOut(best), r.holdOut(second)
	if r.heldOut[second] < r.heldOut[best] {
		return second
	}
	return best
}

// holdOut holds out each reading in turn and gives the weighted root mean square of
// how those held out are missed, in their uncertainties. Near the solution a fit
// without reading i misses it by r/(1 − h), h its leverage, so that no fit need be
// repeated (the prediction sum of squares of Allen, Technometrics 16, 1974; from
// memory).
func (r *race) holdOut(i int) float64 {
	fit, f, d := r.fits[i], r.entries[i].family, r.first.data
	grad, scratch := make([]float64, locals+f.shared()), make([]float64, locals+f.shared())
	var sum, n float64
	for g, group := range d.groups {
		local := lsq.Locals{Groups: []int{g}, Slopes: grad[:locals]}
		for k, x := range group {
			w := r.first.weights[g][k]
			f.deliver(fit.Local[g], fit.Shared, x.c, grad, scratch)
			lever := w * fit.Variance(grad[locals:], local) / (r.sd[g][k] * r.sd[g][k])
			miss := fit.Residuals[g][k] / math.Max(1-lever, leastFreedom)
			sum, n = sum+w*miss*miss, n+w
		}
	}
	return math.Sqrt(sum / math.Max(n, 1))
}

// leastFreedom bounds what a reading that alone decides a parameter counts.
const leastFreedom = 0.05

// drop takes a form that did not settle out of the race; false where none is left.
func (r *race) drop(i int) bool {
	r.scores[i] = worstCriterion
	return r.scores[r.best()] < worstCriterion
}

func (r *race) start(i int) lsq.Start {
	if r.scores[i] >= worstCriterion {
		return r.entries[i].startFrom(r.gs, len(r.first.data.groups))
	}
	return lsq.Start{Shared: r.fits[i].Shared, Local: r.fits[i].Local}
}

func (r *race) choices(chosen int) []Choice {
	out := make([]Choice, len(r.entries))
	least := r.scores[r.best()]
	for i, c := range r.entries {
		out[i] = Choice{DeadTime: c.deadName, Bend: c.bendName, Params: c.shared(), AICc: r.scores[i] - least,
			HeldOut: r.heldOut[i], Chosen: i == chosen}
	}
	return out
}

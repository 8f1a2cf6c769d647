package fit

import (
	"fmt"
	"math"

	"injtab/fit/internal/lsq"
)

// A solution is a family form with its estimated parameters.
type solution struct {
	family
	lsq.Solution
	weights [][]float64 // 0..1 per reading, from the robust rounds
	noise   Noise
	data    dataset
}

// Weak prior beliefs, wide enough that a session with four voltages hardly feels
// them: plausible values for port injectors from simulations of coil and needle.
var (
	coilPrior = [4]lsq.Prior{
		coilT0:  {Mean: 0.15, SD: 0.25},
		coilTau: {Mean: math.Log(1.7), SD: 0.7},
		coilA:   {Mean: math.Log(5.5), SD: 0.35},
		coilB:   {Mean: 0.08, SD: 0.12},
	}
	bendPrior = [4]lsq.Prior{
		bendE: {Mean: 0.05, SD: 0.25},
		bendB: {Mean: math.Log(0.7), SD: 0.5},
		bendM: {Mean: 0, SD: 1},
		bendK: {Mean: 0, SD: 1},
	}
	liftPrior = [3]lsq.Prior{{Mean: 0.65, SD: 0.2}, {Mean: 0.7, SD: 0.15}, {Mean: 0.33, SD: 0.15}}
)

const (
	deviationSD = 0.03 // ms, of the coil form at one voltage
	widePull    = 0.10 // log-factor between injectors of one family, before the data speak
	timeSD      = 0.02 // ms, between injectors, beside the factor
	slopeSD     = 0.15 // ms, of the pressure slope of a dead-time curve
)

func (f family) sharedPrior() []lsq.Prior {
	p := make([]lsq.Prior, f.shared())
	p[0] = lsq.Prior{Mean: 0.5, SD: 0.05}
	dead, bends := p[1:1+f.nDead], p[1+f.nDead:]
	switch c := f.dead.(type) {
	case coil:
		copy(dead, coilPrior[:])
		for i := range c.nodes.at {
			dead[coilDelta+i] = lsq.Prior{SD: deviationSD}
		}
	case curve:
		if c.pressure {
			dead[len(dead)-1] = lsq.Prior{Mean: 0.06, SD: slopeSD}
		}
	}
	copy(bends[:f.bend.liftAt()], bendPrior[:])
	copy(bends[f.bend.liftAt():], liftPrior[:])
	return p
}

func (f family) localPrior() []lsq.Prior {
	return []lsq.Prior{localFlow: {}, localPull: {SD: f.pullSD}, localTime: {SD: timeSD}}
}

func (f family) bounds() (lo, hi []float64) {
	lo, hi = make([]float64, f.shared()), make([]float64, f.shared())
	for i := range lo {
		lo[i], hi[i] = math.Inf(-1), math.Inf(1)
	}
	lo[0], hi[0] = 0.2, 0.9
	dead, bends := 1, 1+f.nDead
	switch f.dead.(type) {
	case coil:
		lo[dead+coilTau], hi[dead+coilTau] = math.Log(0.05), math.Log(20)
		lo[dead+coilA], hi[dead+coilA] = math.Log(0.2), math.Log(12)
		lo[dead+coilB], hi[dead+coilB] = -0.2, 2
	case curve:
		for i := range f.dead.(curve).nodes.at {
			lo[dead+i] = 0
		}
	}
	lo[bends+bendB], hi[bends+bendB] = math.Log(0.1), math.Log(3)
	if f.bend.voltage {
		lo[bends+bendM], hi[bends+bendM] = -4, 4
		lo[bends+bendK], hi[bends+bendK] = -6, 6
	}
	if f.bend.lift {
		lift := bends + f.bend.liftAt()
		lo[lift], hi[lift] = 0, 3
		lo[lift+1], hi[lift+1] = 0.3, 1.5
		lo[lift+2], hi[lift+2] = -0.5, 1.5
	}
	return lo, hi
}

// problem states the family's least-squares problem with the standard
// uncertainties given, one slice an injector.
func (f family) problem(d dataset, sd [][]float64) lsq.Problem {
	cols := locals + f.shared()
	p := lsq.Problem{Shared: f.shared(), Local: locals, SharedPrior: f.sharedPrior(), LocalPrior: f.localPrior()}
	p.SharedMin, p.SharedMax = f.bounds()
	p.LocalMin, p.LocalMax = []float64{math.Inf(-1), -1, -0.2}, []float64{math.Inf(1), 1, 0.2}
	for _, g := range d.groups {
		p.Groups = append(p.Groups, len(g))
	}
	spots := f.spots(d)
	p.Eval = func(g int, local, shared, r, j []float64) {
		b, at := f.bind(local, shared), setting{fade: f.fade(shared)}
		var row []float64
		if j != nil {
			at.grad = make([]float64, cols)
		}
		group := d.groups[g]
		for i := range group {
			x := &group[i]
			if j != nil {
				row = j[i*cols : (i+1)*cols]
			}
			if i == 0 || x.c.place != group[i-1].c.place {
				f.set(&at, &b, local, shared, &spots[g][i])
			}
			out := f.shoot(shared, &at, &x.c, row)
			r[i] = (out.q - x.q) / sd[g][i]
			for k := range row {
				row[k] /= sd[g][i]
			}
		}
	}
	return p
}

// spots are those of every reading: a third of the time of a fit would go into
// their logarithms.
func (f family) spots(d dataset) [][]spot {
	out := make([][]spot, len(d.groups))
	share(len(out), func(g int) {
		group := d.groups[g]
		out[g] = make([]spot, len(group))
		for i, x := range group {
			if i > 0 && x.c.place == group[i-1].c.place {
				out[g][i] = out[g][i-1]
			} else {
				out[g][i] = f.spot(x.c.place)
			}
		}
	})
	return out
}

// deviations are the standard uncertainties in µl per shot of every reading: the
// vessel's and the count's, and the relative part at its open time.
func (f family) deviations(d dataset, s lsq.Start, noise Noise) [][]float64 {
	out := make([][]float64, len(d.groups))
	share(len(out), func(g int) {
		group := d.groups[g]
		out[g] = make([]float64, len(group))
		for i, shot := range f.shots(s.Local[g], s.Shared, group) {
			rel := noise.relative(shot.w)
			out[g][i] = math.Hypot(group[i].sd, rel*math.Max(group[i].q, shot.q))
		}
	})
	return out
}

// startFrom lays a guess out for this form.
func (f family) startFrom(gs guess, groups int) lsq.Start {
	s := lsq.Start{Shared: make([]float64, f.shared())}
	s.Shared[0] = gs.n
	switch c := f.dead.(type) {
	case coil:
		copy(s.Shared[1:], startCoil(gs.points, c.ref))
	case curve:
		for i, v := range c.nodes.at {
			s.Shared[1+i] = medianAt(gs.points, v)
		}
		if c.pressure {
			s.Shared[f.nDead] = 0.06
		}
	}
	bend, lift := f.bendAt(s.Shared), f.bend.liftAt()
	for i, prior := range bendPrior[:lift] {
		bend[i] = prior.Mean
	}
	for i := range f.nBend - lift {
		bend[lift+i] = liftPrior[i].Mean
	}
	for g := range groups {
		flow := gs.flow[g]
		if !finite(flow) {
			flow = median(finiteOnly(gs.flow))
		}
		s.Local = append(s.Local, []float64{flow, gs.pull[g], 0})
	}
	return s
}

// startNear starts this form from the solution of another: what both have in
// common is kept.
func (f family) startNear(s solution, gs guess) lsq.Start {
	out := f.startFrom(gs, len(s.data.groups))
	out.Shared[0] = s.Shared[0]
	if _, ok := f.dead.(coil); ok && f.nDead == s.nDead {
		copy(f.deadAt(out.Shared), s.deadAt(s.Shared))
	}
	copy(f.bendAt(out.Shared), s.bendAt(s.Shared)[:bendB+1])
	for g := range out.Local {
		copy(out.Local[g], s.Local[g])
	}
	return out
}

func finiteOnly(x []float64) (out []float64) {
	for _, v := range x {
		if finite(v) {
			out = append(out, v)
		}
	}
	return out
}

func medianAt(points []deadPoint, v float64) float64 {
	var d []float64
	for _, o := range points {
		if math.Abs(o.v-v) <= 0.2 {
			d = append(d, o.d)
		}
	}
	if len(d) == 0 {
		return nearest(points, points[0].p, v)
	}
	return median(d)
}

// startCoil finds t0, τ, a, b roughly: a and b on a coarse grid, t0 and τ by the
// straight line of dead time over the coil's rise, the least absolute miss wins.
func startCoil(points []deadPoint, ref float64) []float64 {
	best, out := math.Inf(1), []float64{0.15, math.Log(1.5), math.Log(5.5), 0.08}
	for _, a := range []float64{2.5, 4, 5.5, 7} {
		for _, b := range []float64{0, 0.1, 0.25} {
			if t0, tau, miss := coilLine(points, ref, a, b); tau > 0 && miss < best {
				best, out = miss, []float64{t0, math.Log(tau), math.Log(a), b}
			}
		}
	}
	return out
}

func coilLine(points []deadPoint, ref, a, b float64) (t0, tau, miss float64) {
	var x, y []float64
	for _, o := range points {
		l, _ := rise(a * (1 + b*o.p/ref) / o.v)
		x, y = append(x, l), append(y, o.d)
	}
	if spanOf(x) < 0.02 {
		// One voltage: only the level can be set.
		t0 = coilPrior[coilT0].Mean
		tau = (median(y) - t0) / median(x)
	} else {
		t0, tau = lsq.TheilSen(x, y)
	}
	for i := range x {
		miss += math.Abs(y[i] - t0 - tau*x[i])
	}
	return t0, tau, miss
}

// searchOptions end a search within a fiftieth of a standard uncertainty at the worst:
// more digits would say nothing about an injector.
var searchOptions = lsq.Options{Tolerance: 2e-4, Enough: 0.02}

// raceOptions do for a form that only competes, and for a fit that only weighs the
// readings: its criterion is off by some thousandths then. Enough is beyond the root of the
// tolerance, to which slow steps come in any case, so that no form is lost by it.
var raceOptions = lsq.Options{Tolerance: 5e-3, Enough: 0.08}

// solve fits one form: robust rounds with the readings' uncertainties, the
// relative part of which is then estimated from the residuals, until both agree.
//
// A start that is already a robust fit needs few rounds more.
func solve(f family, d dataset, s lsq.Start, noise Noise, rounds int, warm bool, until lsq.Options) (solution, error) {
	var out solution
	for round := range rounds {
		if round > 0 { // after the last nobody asks: of an archive's fit it takes a twentieth
			noise, f.pullSD = out.estimateNoise(), out.estimatePull()
		}
		p := f.problem(d, f.deviations(d, s, noise))
		o := lsq.RobustOptions{Options: until}
		if warm {
			o.CauchyRounds, o.MaxRounds = -1, warmRounds
		}
		warm = true
		fit, weights, err := lsq.Robust(p, s, o)
		if err != nil {
			return solution{}, fmt.Errorf("the readings do not agree on one curve: %w", err)
		}
		s = lsq.Start{Shared: fit.Shared, Local: fit.Local}
		out = solution{family: f, Solution: fit, weights: weights, noise: noise, data: d}
	}
	return out, nil
}

const warmRounds = 3

// estimatePull is how much the injectors' factors really differ: the spread of the
// fitted ones, freed of their own uncertainty and of what the prior held back, so
// that each injector is drawn to the family only as far as the data say.
func (s solution) estimatePull() float64 {
	var pulls, shares []float64
	grad := make([]float64, locals)
	grad[localPull] = 1
	for g := range s.Local {
		variance := s.Variance(nil, lsq.Locals{Groups: []int{g}, Slopes: grad})
		// The share of the prior that the data have replaced.
		if share := 1 - variance/(s.pullSD*s.pullSD); share > 0.2 {
			pulls, shares = append(pulls, s.Local[g][localPull]), append(shares, share)
		}
	}
	if len(pulls) < enoughForSpread {
		return s.pullSD
	}
	_, sd := lsq.MAD(pulls)
	return min(max(sd/math.Sqrt(median(shares)), leastPull), widePull)
}

const (
	enoughForSpread = 6    // injectors from which a spread can be told
	leastPull       = 0.01 // no family is more alike
)

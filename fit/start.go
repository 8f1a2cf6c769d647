package fit

import (
	"math"
	"slices"

	"injtab/fit/internal/lsq"
)

// A cellStart is a resistant straight line through one injector's pulses at one
// pressure and voltage: static flow and dead time to start the search from.
type cellStart struct {
	g    int     // injector
	p, v float64 // kPa, V
	s, d float64 // µl/ms, ms
}

// startCells draws the lines. Static readings tell flow alone (d is NaN there).
func startCells(d dataset) []cellStart {
	by := make([][]cellStart, len(d.groups))
	lsq.Share(len(by), leastShare, func(first, end int) {
		var s splitter
		for g := first; g < end; g++ {
			for _, cell := range s.cells(d.groups[g]) {
				if line, ok := cellLine(g, cell); ok {
					by[g] = append(by[g], line)
				}
			}
		}
	})
	return slices.Concat(by...)
}

// A splitter parts the readings of one injector after another; its rooms are made once,
// or the cells of an archive would take an eighth of the memory that its fit asks for.
type splitter struct{ list [][]datum }

// cells parts an injector's readings by pressure and voltage, in order of first
// appearance. The next call overwrites them.
func (s *splitter) cells(group []datum) [][]datum {
	n := 0
	for i := range group {
		c := &group[i].c
		at := slices.IndexFunc(s.list[:n], func(cell []datum) bool { return cell[0].c.alike(c) })
		if at < 0 {
			at = n
			n++
			if n > len(s.list) {
				s.list = append(s.list, nil)
			}
			s.list[at] = s.list[at][:0]
		}
		s.list[at] = append(s.list[at], group[i])
	}
	return s.list[:n]
}

// alike tells whether a condition has nearly the pressure and voltage of another, and is
// held open where that is.
func (c *condition) alike(other *condition) bool {
	return math.Abs(c.v-other.v) <= 0.1+1e-9 && math.Abs(c.p-other.p) <= 0.01*c.p+1e-9 && c.static == other.static
}

func cellLine(g int, cell []datum) (cellStart, bool) {
	out := cellStart{g: g, p: cell[0].c.p, v: cell[0].c.v, d: math.NaN()}
	if cell[0].c.static {
		var s []float64
		for _, x := range cell {
			s = append(s, x.q/x.c.period)
		}
		out.s = median(s)
		return out, true
	}
	var t, q, all []float64
	for _, x := range cell {
		if !slices.Contains(all, x.c.pulse) {
			all = append(all, x.c.pulse)
		}
	}
	half := median(all)
	// The longer half shows the straight line; a short cell needs all it has.
	for _, x := range cell {
		if x.c.pulse >= half || len(all) < 6 {
			t, q = append(t, x.c.pulse), append(q, x.q)
		}
	}
	if spanOf(t) < 0.5 {
		return out, false
	}
	a, b := lsq.TheilSen(t, q)
	if !(b > 0) {
		return out, false
	}
	out.s, out.d = b, math.Max(-a/b, 0.01)
	return out, true
}

func spanOf(x []float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range x {
		lo, hi = math.Min(lo, v), math.Max(hi, v)
	}
	return hi - lo
}

// A guess is where the search starts, in plain numbers.
type guess struct {
	n      float64
	flow   []float64   // ln S at the reference pressure, by injector
	pull   []float64   // log-factor on the dead time, by injector
	points []deadPoint // median dead time of the family at each pressure and voltage
}

// of is the guess for some of the injectors; nil: all.
func (gs guess) of(members []int) guess {
	if members == nil {
		return gs
	}
	part := gs
	part.flow, part.pull = nil, nil
	for _, g := range members {
		part.flow, part.pull = append(part.flow, gs.flow[g]), append(part.pull, gs.pull[g])
	}
	return part
}

type deadPoint struct{ p, v, d float64 }

// startGuess turns the lines into a guess; ok is false when no injector shows
// both flow and dead time.
func startGuess(d dataset, refP float64, freeN bool) (guess, bool) {
	cells := startCells(d)
	n := 0.5
	if freeN {
		n = startExponent(cells)
	}
	gs := guess{n: n, flow: startFlow(cells, len(d.groups), n, refP), points: deadPoints(cells)}
	if len(gs.points) == 0 {
		gs.points = deadPoints(gs.fromStatic(d, refP))
	}
	if len(gs.points) == 0 {
		return gs, false
	}
	gs.pull = startPull(cells, gs.points, len(d.groups))
	known := false
	for g := range gs.flow {
		if math.IsNaN(gs.flow[g]) {
			gs.flow[g] = flowFromSingles(d.groups[g], gs, refP)
		}
		known = known || finite(gs.flow[g])
	}
	return gs, known
}

// startable tells whether a guess can be made.
func (d dataset) startable(refP float64) bool {
	_, ok := startGuess(d, refP, len(d.flowPressures()) > 1)
	return ok
}

// startExponent is the median slope of ln S over ln p between the pressures of
// one injector.
func startExponent(cells []cellStart) float64 {
	var slopes []float64
	for i, a := range cells {
		for _, b := range cells[i+1:] {
			if b.g != a.g { // those of an injector follow each other
				break
			}
			if math.Abs(math.Log(a.p/b.p)) > 0.1 {
				slopes = append(slopes, math.Log(a.s/b.s)/math.Log(a.p/b.p))
			}
		}
	}
	if len(slopes) == 0 {
		return 0.5
	}
	return min(max(median(slopes), 0.35), 0.65)
}

func startFlow(cells []cellStart, groups int, n, refP float64) []float64 {
	byGroup := make([][]float64, groups)
	for _, c := range cells {
		byGroup[c.g] = append(byGroup[c.g], math.Log(c.s)-n*math.Log(c.p/refP))
	}
	out := make([]float64, groups)
	for g, x := range byGroup {
		out[g] = math.NaN()
		if len(x) > 0 {
			out[g] = median(x)
		}
	}
	return out
}

func deadPoints(cells []cellStart) []deadPoint {
	var out []deadPoint
	var ds [][]float64
next:
	for _, c := range cells {
		if math.IsNaN(c.d) {
			continue
		}
		for i, o := range out {
			if math.Abs(o.v-c.v) <= 0.1+1e-9 && math.Abs(o.p-c.p) <= 0.01*o.p+1e-9 {
				ds[i] = append(ds[i], c.d)
				continue next
			}
		}
		out, ds = append(out, deadPoint{p: c.p, v: c.v}), append(ds, []float64{c.d})
	}
	for i := range out {
		out[i].d = median(ds[i])
	}
	return out
}

func startPull(cells []cellStart, points []deadPoint, groups int) []float64 {
	logs := make([][]float64, groups)
	for _, c := range cells {
		if math.IsNaN(c.d) {
			continue
		}
		for _, o := range points {
			if math.Abs(o.v-c.v) <= 0.1+1e-9 && math.Abs(o.p-c.p) <= 0.01*o.p+1e-9 {
				logs[c.g] = append(logs[c.g], math.Log(c.d/o.d))
			}
		}
	}
	out := make([]float64, groups)
	for g, x := range logs {
		if len(x) > 0 {
			out[g] = min(max(median(x), -0.3), 0.3)
		}
	}
	return out
}

// fromStatic gives the dead time of single pulses of injectors whose flow a held-open
// reading tells: what the pulse loses.
func (gs guess) fromStatic(d dataset, refP float64) (out []cellStart) {
	for g, group := range d.groups {
		for _, x := range group {
			s := math.Exp(gs.flow[g] + gs.n*math.Log(x.c.p/refP))
			if dead := x.c.pulse - x.q/s; !x.c.static && dead > 0 {
				out = append(out, cellStart{g: g, p: x.c.p, v: x.c.v, s: s, d: dead})
			}
		}
	}
	return out
}

// flowFromSingles is ln S of an injector that shows no line of its own, by the
// family's dead time; NaN where even that says nothing.
func flowFromSingles(group []datum, gs guess, refP float64) float64 {
	var x []float64
	for _, r := range group {
		if w := r.c.pulse - nearest(gs.points, r.c.p, r.c.v); w > 0.2 {
			x = append(x, math.Log(r.q/w)-gs.n*math.Log(r.c.p/refP))
		}
	}
	if len(x) == 0 {
		return math.NaN()
	}
	return median(x)
}

func nearest(points []deadPoint, p, v float64) float64 {
	best, d := math.Inf(1), 0.0
	for _, o := range points {
		if far := math.Abs(o.v-v)/10 + math.Abs(o.p-p)/300; far < best {
			best, d = far, o.d
		}
	}
	return d
}

package fit

import (
	"fmt"
	"math"
	"sync"

	"injtab/fit/bench"
	"injtab/fit/diag"
	"injtab/fit/internal/lsq"
	"injtab/fit/unit"
)

// A Member is a fitted injector.
type Member struct {
	ID         string
	Verdict    bench.Verdict
	Flow       Estimate // ml/min at the model's reference pressure
	DeadTime   Estimate // ms at the model's reference pressure and voltage
	Factor     float64  // own factor on the family's dead time
	LinearFrom float64  // ms, pulse from which delivery is linear; 0: not told
	LinearTo   float64  // ms, longest pulse known to be linear; 0: not told
	RMSPct     float64  // of the residuals
	RSquared   float64
	N          int
}

// Injectors fits the model to checked readings. An error says in one sentence why
// no model can be had, with the place where that is known.
func Injectors(c bench.Checked, o Options) (*Model, error) {
	d := gather(c)
	if len(d.groups) == 0 && d.hurried > 0 {
		return nil, cannot(c, "every reading left less than %.3g ms between two pulses, where a needle may not have closed; repeat them with a longer period", shortOff)
	}
	if len(d.groups) == 0 {
		return nil, cannot(c, "no sound injector has a reading that delivered fuel; run `check` and repeat the readings it names")
	}
	if !d.pulsed() {
		return nil, cannot(c, "only held-open readings were taken, which tell static flow alone; add at least two pulse widths")
	}
	refP, refV := reference(d, c.Setup())
	gs, ok := startGuess(d, refP, len(d.flowPressures()) > 1)
	if !ok {
		return nil, cannot(c, "no injector was measured at two pulse widths half a millisecond apart, so that flow and dead time can't be told apart; add a second pulse width, or a held-open reading")
	}
	d.setBriefAside(gs)
	if d.mostPulses(2) < 2 && !d.startable(refP) {
		return nil, cannot(c, "beside pulses that hardly opened the needle no injector was measured at two pulse widths, so that flow and dead time can't be told apart; add a pulse at least %.3g ms longer than the dead time", 2*leastOpen)
	}
	sol, choices, err := choose(d, gs, refP, refV, o)
	if err != nil {
		return nil, unsettled(c, err)
	}
	sol, err = sol.withClosed()
	if err != nil {
		return nil, unsettled(c, err)
	}
	sol, effects, err := sol.withoutEffects()
	if err != nil {
		return nil, unsettled(c, err)
	}
	m := newModel(c, sol, o)
	m.Choices, m.Effects = choices, effects
	m.fill()
	m.diagnose()
	return m, nil
}

// newModel puts together what a solution and its readings say.
func newModel(c bench.Checked, sol solution, o Options) *Model {
	m := &Model{Checked: c, Noise: sol.noise, options: o, sol: sol, factor: sol.normalFactor(),
		RefP: unit.KPa(sol.refP), RefV: unit.Volts(sol.quotedVoltage())}
	var gauging sync.WaitGroup // of a million readings it takes as long as all that follows
	defer gauging.Wait()
	gauging.Go(func() { m.gauges = gaugesOf(c.Setup(), c.Readings()) })
	m.measured = sol.data.region()
	n := len(sol.data.groups)
	m.dataN, m.bounds, m.flows, m.shots = make([]int, n), make([]bound, n), make([]float64, n), sol.allShots()
	for g, group := range sol.data.groups {
		m.dataN[g], m.bounds[g] = len(group), sol.bind(sol.Local[g], sol.Shared)
		m.flows[g] = math.Exp(sol.Local[g][localFlow])
	}
	m.fade = sol.fade(sol.Shared)
	m.measured.shortest, m.measured.longest = m.openTimes()
	return m
}

// allShots are what the curves deliver in each reading, by injector.
func (s solution) allShots() [][]shot {
	return s.family.allShots(s.data, lsq.Start{Shared: s.Shared, Local: s.Local})
}

// unsettled says that the readings do not agree on one curve.
func unsettled(c bench.Checked, err error) diag.Note {
	return cannot(c, "%v; run `check`, mend or remove the readings it names", err)
}

func cannot(c bench.Checked, format string, args ...any) diag.Note {
	s := c.Sheet()
	return diag.Fail(diag.Place{File: s.File, Sheet: s.Sheet}, "no_fit", "no fit: "+format, args...)
}

// reference is where results are quoted: the rated pressure and 13.5 V, or, with
// a single one measured, that; kPa and V.
func reference(d dataset, s bench.Setup) (p, v float64) {
	p, v = s.RatedPressure.KPa(), referenceVoltage
	if ps := d.flowPressures(); len(ps) == 1 {
		p = ps[0]
	}
	if vs := d.voltages(); len(vs) == 1 {
		v = vs[0]
	}
	return p, v
}

// quotedVoltage is where the form of the dead time can be asked: a curve through the
// measured voltages ends with them.
func (s solution) quotedVoltage() float64 {
	if c, ok := s.dead.(curve); ok {
		return min(max(s.refV, c.nodes.at[0]), c.nodes.at[len(c.nodes.at)-1])
	}
	return s.refV
}

// openTimes are the shortest and longest open time in ms of readings that the fit
// believed.
func (m *Model) openTimes() (lo, hi float64) {
	lo = math.Inf(1)
	for g, group := range m.sol.data.groups {
		for i, x := range group {
			if x.c.static || m.sol.weights[g][i] < Doubt {
				continue
			}
			w := m.shots[g][i].w
			lo, hi = math.Min(lo, w), math.Max(hi, w)
		}
	}
	return lo, hi
}

// fill computes what is reported of each member.
func (m *Model) fill() {
	injectors := m.Checked.Injectors()
	m.Members = make([]Member, len(m.sol.data.ids))
	for g, i := range m.sol.data.ids {
		m.Members[g] = Member{ID: injectors[i].ID, Verdict: injectors[i].Verdict}
	}
	share(len(m.Members), func(g int) {
		x := &m.Members[g]
		x.N = m.dataN[g]
		x.Flow = m.Flow(Who{g}, m.RefP)
		x.DeadTime = m.DeadTime(Who{g}, m.RefP, m.RefV)
		x.Factor = math.Exp(m.sol.Local[g][localPull])
		x.RMSPct, x.RSquared = m.quality(g)
		x.LinearFrom, x.LinearTo = m.linearRange(g)
	})
}

// quality is the relative size of a member's residuals in per cent, by the
// readings that the fit believed, and the share of the scatter explained.
func (m *Model) quality(g int) (rmsPct, r2 float64) {
	var sum, n, mean, ss, sr float64
	group := m.sol.data.groups[g]
	for i, x := range group {
		mean += x.q / float64(len(group))
		if m.sol.weights[g][i] < Doubt {
			continue
		}
		q := m.shots[g][i].q
		if q > 0 {
			sum += (x.q/q - 1) * (x.q/q - 1)
			n++
		}
	}
	for i, x := range group {
		if m.sol.weights[g][i] < Doubt {
			continue
		}
		q := m.shots[g][i].q
		ss += (x.q - mean) * (x.q - mean)
		sr += (x.q - q) * (x.q - q)
	}
	if n > 0 {
		rmsPct = 100 * math.Sqrt(sum/n)
	}
	if ss > 0 {
		r2 = 1 - sr/ss
	}
	return rmsPct, r2
}

// String of the chosen form, for reports.
func (m *Model) Form() string {
	for _, c := range m.Choices {
		if c.Chosen {
			return c.String()
		}
	}
	return fmt.Sprintf("dead time: %s", levelName)
}

// referenceVoltage is the supply in V at which results are quoted; common
// practice, no source.
const referenceVoltage = 13.5

package fit

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"injtab/fit/bench"
	"injtab/fit/unit"
)

// A Change is what became of one injector between two sessions.
type Change struct {
	Injector string
	// FlowPct and DeadTimeMs are changes of its own: what all injectors changed by
	// together is taken out, because a gauge that moved would look the same.
	FlowPct, DeadTimeMs Estimate
	FlowReal, DeadReal  bool // beyond the noise, with the false-discovery guard
	LeakBefore          unit.VolumeFlow
	LeakAfter           unit.VolumeFlow
	LeakTested          bool // in both sessions
	VerdictBefore       bench.Verdict
	VerdictAfter        bench.Verdict
}

// A Comparison is what changed between two sessions.
type Comparison struct {
	Changes []Change // fitted in both sessions, in natural order
	// CommonFlowPct and CommonDeadTimeMs are what all injectors changed by
	// together; their intervals hold both sessions' gauges.
	CommonFlowPct, CommonDeadTimeMs Estimate
	SpreadBeforePct, SpreadAfterPct float64 // largest over smallest flow
	Gone, New                       []string
	At                              unit.Pressure
	AtV                             unit.Voltage
}

// discoveryRate is the part of the changes called real that may be chance
// (Benjamini and Hochberg, J. R. Statist. Soc. B 57, 1995; from memory).
const discoveryRate = 0.05

// Compare tells what changed from one session to another, for the injectors that
// were fitted in both. An error says why the two can't be compared.
func Compare(before, after *Model) (Comparison, error) {
	a, b, gone, fresh := common(before, after)
	if len(a) == 0 {
		return Comparison{}, fmt.Errorf("no injector was fitted in both sessions: write the same text on each injector in both bench files")
	}
	p, v := before.RefP, before.RefV
	for _, m := range []*Model{before, after} {
		_, status := m.measured.at(p.KPa(), v.V(), m.options)
		if _, flow := m.measured.flow(p.KPa(), m.options); !status.HasValue() || !flow.HasValue() {
			return Comparison{}, fmt.Errorf("%s has no value at %.4g kPa and %.4g V, where the other session is quoted: measure both at one common pressure and voltage",
				m.Checked.Sheet().File, p.KPa(), v.V())
		}
	}
	c := Comparison{Gone: gone, New: fresh, At: p, AtV: v}
	flowWas, flowIs := before.FlowDifferences(a), after.FlowDifferences(b)
	deadWas, deadIs := before.DeadTimeDifferences(a, p, v), after.DeadTimeDifferences(b, p, v)
	for i := range a {
		x := change(before, after, a[i], b[i])
		x.FlowPct = scale(minus(flowIs(b[i]), flowWas(a[i])), 100)
		x.DeadTimeMs = minus(deadIs(b[i]), deadWas(a[i]))
		c.Changes = append(c.Changes, x)
	}
	flow, dead := centre(c.Changes)
	judge(c.Changes)
	c.commonChange(before, after, a, b, p, v)
	c.CommonFlowPct, c.CommonDeadTimeMs = shifted(c.CommonFlowPct, flow), shifted(c.CommonDeadTimeMs, dead)
	c.SpreadBeforePct, c.SpreadAfterPct = before.spread(a, p), after.spread(b, p)
	return c, nil
}

// common pairs the members of both sessions by id.
func common(before, after *Model) (a, b Who, gone, fresh []string) {
	for g, x := range before.Members {
		if h, ok := after.Find(x.ID); ok {
			a, b = append(a, g), append(b, h)
		} else {
			gone = append(gone, x.ID)
		}
	}
	for _, x := range after.Members {
		if _, ok := before.Find(x.ID); !ok {
			fresh = append(fresh, x.ID)
		}
	}
	return a, b, gone, fresh
}

// change is what became of member g, which is h after it, beside flow and dead time.
func change(before, after *Model, g, h int) Change {
	c := Change{Injector: before.Members[g].ID,
		VerdictBefore: before.Members[g].Verdict, VerdictAfter: after.Members[h].Verdict}
	x, okBefore := leakOf(before, c.Injector)
	y, okAfter := leakOf(after, c.Injector)
	c.LeakBefore, c.LeakAfter, c.LeakTested = x, y, okBefore && okAfter
	return c
}

// centre takes the median change out of all, so that one injector that changed much
// does not lend the others a change of the other sign, and gives it: per cent, ms.
func centre(cs []Change) (flow, dead float64) {
	var flows, deads []float64
	for _, c := range cs {
		flows, deads = append(flows, c.FlowPct.Value), append(deads, c.DeadTimeMs.Value)
	}
	flow, dead = median(flows), median(deads)
	for i := range cs {
		cs[i].FlowPct, cs[i].DeadTimeMs = shifted(cs[i].FlowPct, -flow), shifted(cs[i].DeadTimeMs, -dead)
	}
	return flow, dead
}

func shifted(e Estimate, by float64) Estimate {
	e.Value, e.Lo, e.Hi = e.Value+by, e.Lo+by, e.Hi+by
	return e
}

// minus is the difference of two independent estimates.
func minus(a, b Estimate) Estimate {
	half := math.Hypot(a.CI95(), b.CI95())
	d := a.Value - b.Value
	return Estimate{Value: d, Lo: d - half, Hi: d + half, Level: Level, N: a.N + b.N, Basis: max(a.Basis, b.Basis)}
}

func leakOf(m *Model, id string) (unit.VolumeFlow, bool) {
	for _, x := range m.Checked.Injectors() {
		if x.ID == id {
			return x.Leak, x.LeakTest
		}
	}
	return 0, false
}

// judge marks the changes beyond the noise, flow and dead time each as a family of
// tests of their own.
func judge(cs []Change) {
	mark := func(of func(*Change) (Estimate, *bool)) {
		type test struct {
			p    float64
			real *bool
		}
		var tests []test
		for i := range cs {
			e, real := of(&cs[i])
			if e.CI95() <= 0 {
				continue
			}
			z := math.Abs(e.Value) / (e.CI95() / 1.96)
			tests = append(tests, test{2 * distuv.UnitNormal.Survival(z), real})
		}
		slices.SortStableFunc(tests, func(a, b test) int { return cmp.Compare(a.p, b.p) })
		last := -1
		for i, t := range tests {
			if t.p <= discoveryRate*float64(i+1)/float64(len(tests)) {
				last = i
			}
		}
		for i := 0; i <= last; i++ {
			*tests[i].real = true
		}
	}
	mark(func(c *Change) (Estimate, *bool) { return c.FlowPct, &c.FlowReal })
	mark(func(c *Change) (Estimate, *bool) { return c.DeadTimeMs, &c.DeadReal })
}

func (c *Comparison) commonChange(before, after *Model, a, b Who, p unit.Pressure, v unit.Voltage) {
	x, y := before.Flow(a, p), after.Flow(b, p)
	ratio := math.Log(y.Value / x.Value)
	half := math.Hypot(x.CI95()/x.Value, y.CI95()/y.Value)
	c.CommonFlowPct = Estimate{Value: 100 * ratio, Lo: 100 * (ratio - half), Hi: 100 * (ratio + half), Level: Level, N: x.N + y.N}
	c.CommonDeadTimeMs = minus(after.DeadTime(b, p, v), before.DeadTime(a, p, v))
}

// spread is the largest over the smallest static flow, less one, in per cent.
func (m *Model) spread(who Who, p unit.Pressure) float64 {
	lo, hi := math.Inf(1), 0.0
	for _, g := range who {
		f := m.FlowOf(g, p)
		lo, hi = math.Min(lo, f), math.Max(hi, f)
	}
	return 100 * (hi/lo - 1)
}

package fit_test

import (
	"testing"

	"injtab/fit"
	"injtab/fit/sim"
	"injtab/fit/unit"
)

// A coverage counts how often an interval held the truth.
type coverage struct{ in, n int }

func (c *coverage) add(e fit.Estimate, truth float64) {
	if !e.Status.HasValue() {
		return
	}
	c.n++
	if e.Lo <= truth && truth <= e.Hi {
		c.in++
	}
}

func (c coverage) pct() float64 { return 100 * float64(c.in) / float64(c.n) }

// covered counts intervals of static flow, dead time and delivered fuel of one
// session that hold the truth; delivered fuel within the pulses that were read.
func covered(sh shape, m *fit.Model, s sim.Session, flow, dead, fuel *coverage) {
	conditions := [][2]float64{{13.5, 300}, {14.2, 350}, {12.5, 250}}
	if len(m.Voltages()) == 1 {
		conditions = conditions[:1]
	}
	for _, g := range sound(m, s) {
		u := s.Units[m.Members[g].ID]
		truth := u.Truth()
		flow.add(m.Flow(fit.Who{g}, unit.KPa(300)), u.StaticFlow(unit.KPa(300)).MlMin())
		for _, c := range conditions {
			v, p := unit.Volts(c[0]), unit.KPa(c[1])
			dead.add(m.DeadTime(fit.Who{g}, p, v), truth.DeadTime(p, v).Ms())
			for _, w := range sh.opens {
				t := unit.Ms(m.DeadTimeOf(g, p, v) + w)
				fuel.add(m.Delivered(fit.Who{g}, t, p, v), truth.PerShot(t, t+unit.Ms(20), p, v, sim.RoomTemp).Ml())
			}
		}
	}
}

// TestCoverage counts over simulated sessions, with errors of gauge, meter, timer
// and vessels that are common to each, how often 95 % intervals hold the truth. In
// the short form few sessions make the count uncertain itself; the long form of
// 500 sessions of each shape must give 92 to 98 %.
func TestCoverage(t *testing.T) {
	sessions, least, most := 25, 82.0, 100.0
	if long() {
		sessions, least, most = 500, 92, 98
	}
	designs := sim.Designs()
	for _, sh := range shapes {
		var flow, dead, fuel coverage
		for i := range sessions {
			s := sh.plan().Run(designs[i%len(designs)], uint64(9001+i))
			covered(sh, fitted(t, checkedSession(t, s)), s, &flow, &dead, &fuel)
		}
		for _, x := range []struct {
			what string
			c    coverage
		}{{"static flow", flow}, {"dead time", dead}, {"delivered fuel", fuel}} {
			t.Logf("%-7s %-15s %5.1f %% of %d intervals hold the truth", sh.name, x.what, x.c.pct(), x.c.n)
			if x.c.pct() < least || x.c.pct() > most {
				t.Errorf("%s, %s: %.1f %% of the intervals hold the truth, want %.0f to %.0f %%", sh.name, x.what, x.c.pct(), least, most)
			}
		}
	}
}

package plan

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"strconv"
	"sync"
	"testing"

	"injtab/fit"
	"injtab/fit/bench"
	"injtab/fit/sim"
	"injtab/fit/unit"
)

// A trial is how a planned session comes out many times over: for each of some sets
// of injectors it is run again and again, and the spread of what is fitted about
// each set's own mean is set beside the spread foretold.
//
// The bench has no error that stays for the session (gauge, voltmeter, timer,
// vessels): those are foretold apart and don't show as spread.
type trial struct {
	plan    Plan
	design  sim.Design
	sets    int
	repeats int
}

// session runs repeat k of a set of injectors. The same seed draws the same
// injectors; readings thrown away before the session make its chances others.
func (tr trial) session(set, k int) (sim.Session, *fit.Model, error) {
	b := sim.GoodBench()
	b.Slots = tr.plan.job.Slots
	b.PressureLimit, b.VoltageLimit, b.TimerLimit, b.VesselLimit = 0, 0, 0, 0
	s := sim.Plan{Title: "trial", Bench: b, IDs: tr.plan.job.IDs}
	if k > 0 {
		away := sim.Point{Period: unit.Ms(20), Pressure: unit.KPa(300), Voltage: 13.5, Duration: 60}
		first := sim.Step{IDs: s.IDs}
		for range 7 * k {
			first.Points = append(first.Points, away)
		}
		s.Steps = append(s.Steps, first)
	}
	last := -1
	for _, t := range tr.plan.agenda.turns {
		if t.seating != last {
			s.Steps, last = append(s.Steps, sim.Step{IDs: t.seats.ids()}), t.seating
		}
		step := &s.Steps[len(s.Steps)-1]
		step.Points = append(step.Points, sim.Point{Pulse: t.pulse, Period: tr.plan.job.period,
			Pressure: t.pressure, Voltage: t.voltage, Duration: tr.plan.job.duration(t.spot)})
	}
	out := s.Run(tr.design, uint64(set+1))
	sheet, err := bench.Read(bytes.NewReader(out.CSV), "trial.csv")
	if err != nil {
		return out, nil, err
	}
	c, _, err := bench.Check(sheet)
	if err != nil {
		return out, nil, err
	}
	m, err := fit.Injectors(c, fit.Options{})
	return out, m, err
}

// watched are the injectors whose estimates are followed: those that are mapped.
func (tr trial) watched() []string { return tr.plan.agenda.turns[0].seats.ids() }

// A quantity that is followed, in the same unit by fit and by forecast.
type followed struct {
	name, pool string
	fitted     func(m *fit.Model, g int) float64
	foretold   float64
}

func (tr trial) follow() []followed {
	var list []followed
	look := tr.plan.look
	g, _ := look.Model.Find(tr.watched()[0])
	who := fit.Who{g}
	for _, p := range tr.plan.job.pressures {
		list = append(list, followed{fmt.Sprintf("flow at %v kPa", p.KPa()), "static flow",
			func(m *fit.Model, g int) float64 { return m.FlowOf(g, p) }, look.Flow(who, p).Random})
		for _, v := range tr.plan.job.voltages {
			list = append(list, followed{fmt.Sprintf("dead time at %v kPa %v V", p.KPa(), v.V()), "dead time",
				func(m *fit.Model, g int) float64 { return m.DeadTimeOf(g, p, v) }, look.DeadTime(who, p, v).Random})
		}
	}
	return list
}

// run gives the values of every quantity by session, one a watched injector; a
// session in which Check does not believe in one of them is left out.
func (tr trial) run(t *testing.T, list []followed) [][][]float64 {
	t.Helper()
	values := make([][][]float64, tr.sets*tr.repeats)
	var work sync.WaitGroup
	next := make(chan int)
	for range 2 {
		work.Add(1)
		go func() {
			defer work.Done()
			for n := range next {
				_, m, err := tr.session(n/tr.repeats, n%tr.repeats)
				if err != nil {
					t.Error(err)
					continue
				}
				values[n] = tr.values(m, list)
			}
		}()
	}
	for n := range values {
		next <- n
	}
	close(next)
	work.Wait()
	return values
}

func (tr trial) values(m *fit.Model, list []followed) [][]float64 {
	rows := make([][]float64, len(list))
	for _, id := range tr.watched() {
		g, ok := m.Find(id)
		if !ok {
			return nil
		}
		for i, f := range list {
			rows[i] = append(rows[i], f.fitted(m, g))
		}
	}
	return rows
}

// spread is the standard deviation of quantity i about the mean of each injector.
func (tr trial) spread(values [][][]float64, i int) float64 {
	var sum, free float64
	for set := range tr.sets {
		for k := range tr.watched() {
			var mean, n float64
			for r := range tr.repeats {
				if v := values[set*tr.repeats+r]; v != nil {
					mean, n = mean+v[i][k], n+1
				}
			}
			for r := range tr.repeats {
				if v := values[set*tr.repeats+r]; v != nil {
					sum += (v[i][k] - mean/n) * (v[i][k] - mean/n)
				}
			}
			free += n - 1
		}
	}
	return math.Sqrt(sum / free)
}

// A pool gathers how far spreads are from those foretold, as squared ratios.
type pool struct {
	squares float64
	n       int
}

func (p *pool) add(ratio float64) { p.squares, p.n = p.squares+ratio*ratio, p.n+1 }

func (p *pool) ratio() float64 { return math.Sqrt(p.squares / float64(p.n)) }

var pools = []string{"static flow", "dead time"}

// compare sets the spread of each quantity beside the one foretold, and gathers the
// ratios by pool.
func (tr trial) compare(t *testing.T) map[string]*pool {
	t.Helper()
	list := tr.follow()
	values := tr.run(t, list)
	lost := 0
	for _, v := range values {
		if v == nil {
			lost++
		}
	}
	if lost > len(values)/8 {
		t.Errorf("design %s: %d of %d sessions lost an injector to Check", tr.design.Name, lost, len(values))
	}
	out := map[string]*pool{}
	for _, name := range pools {
		out[name] = &pool{}
	}
	for i, f := range list {
		ratio := tr.spread(values, i) / f.foretold
		t.Logf("%-32s spread %.5g, foretold %.5g, ratio %.2f", f.name, ratio*f.foretold, f.foretold, ratio)
		out[f.pool].add(ratio)
	}
	for _, name := range pools {
		t.Logf("design %s, %s: ratio %.3f of %d quantities in %d sessions", tr.design.Name, name, out[name].ratio(), out[name].n, len(values)-lost)
	}
	return out
}

func newTrial(t *testing.T, name string, injectors, sets, repeats int) trial {
	t.Helper()
	d := sim.ByName(name)
	in := inputs()
	in.Number, in.BenchTime, in.VoltageRange[0] = injectors, 2.5*3600, 8.5
	in.Flow, in.DeadTime = d.Nominal().StaticFlow(unit.KPa(300)), d.Nominal().Truth().DeadTime(unit.KPa(300), 13.5)
	if injectors > in.Slots {
		in.BenchTime = 4 * 3600
	}
	return trial{made(t, in), d, sets, repeats}
}

// The spread of fitted flow and dead time over simulated sessions of plans agrees
// with the one foretold: within 15 % over three designs together. INJTAB_SESSIONS=n
// runs n sessions of each, and of a plan with more injectors than slots, and wants
// each design within 30 %: how much short pulses bend is not known beforehand and
// differs between designs.
func TestForetoldSpreadIsTrue(t *testing.T) {
	sets, repeats := 3, 9
	n, err := strconv.Atoi(os.Getenv("INJTAB_SESSIONS"))
	if err == nil {
		sets, repeats = 4, (n+3)/4
	}
	all := map[string]*pool{"static flow": {}, "dead time": {}}
	for _, name := range []string{"A", "B", "C"} {
		for what, p := range newTrial(t, name, 4, sets, repeats).compare(t) {
			all[what].squares, all[what].n = all[what].squares+p.squares, all[what].n+p.n
			if err == nil {
				agree(t, "design "+name+", "+what, p, 0.30)
			}
		}
	}
	for _, what := range pools {
		t.Logf("%s over all designs: ratio %.3f", what, all[what].ratio())
		agree(t, what+" over all designs", all[what], 0.15)
	}
	if err == nil {
		for what, p := range newTrial(t, "A", 8, sets, repeats).compare(t) {
			agree(t, "more injectors than slots, "+what, p, 0.30)
		}
	}
}

func agree(t *testing.T, what string, p *pool, within float64) {
	t.Helper()
	if ratio := p.ratio(); math.Abs(ratio-1) > within {
		t.Errorf("%s: the spread is %.2f times the one foretold", what, ratio)
	}
}

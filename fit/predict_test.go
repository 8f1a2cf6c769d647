package fit

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"injtab/fit/bench"
	"injtab/fit/internal/lsq"
	"injtab/fit/unit"
)

func expected() Expectation {
	return Expectation{Flow: unit.MlMin(510), DeadTime: unit.Ms(0.72), Scatter: UsualScatter()}
}

func plannedSetup() bench.Setup {
	return bench.Setup{RatedPressure: unit.KPa(300), Division: unit.Ml(1), VesselLimit: unit.Ml(1),
		PressureLimit: 0.005, VoltageLimit: 0.004, TimerLimit: unit.Ms(0.005)}
}

// plannedGrid takes injectors through pulses at four voltages and three pressures.
func plannedGrid(injectors int) []bench.Reading {
	var list []bench.Reading
	run := 0
	for _, v := range []float64{10, 11.5, 13.5, 15} {
		for _, p := range []float64{200, 300, 450} {
			for _, open := range []float64{0.7, 1, 1.5, 3, 8} {
				run++
				pulse := expected().DeadTimeAt(unit.KPa(300), unit.KPa(p), unit.Volts(v)) + unit.Ms(open)
				for g := range injectors {
					list = append(list, bench.Reading{Injector: fmt.Sprint(g + 1), Pulse: pulse, Period: unit.Ms(20),
						Shots: math.Round(80 / (8.5e-3 * open)), Pressure: unit.KPa(p), Voltage: unit.Volts(v),
						Run: fmt.Sprint(run), Slot: fmt.Sprint(g + 1)})
				}
			}
		}
	}
	return list
}

func predicted(t *testing.T, injectors int) *Prospect {
	t.Helper()
	p, err := Predict(expected(), plannedSetup(), plannedGrid(injectors))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestExpectationIsWhatWasExpected(t *testing.T) {
	for _, ms := range []float64{0.3, 0.72, 1.4} {
		e := expected()
		e.DeadTime = unit.Ms(ms)
		rated := unit.KPa(300)
		relative(t, "dead time", e.DeadTimeAt(rated, rated, 13.5).Ms(), ms, 1e-12)
		// A long pulse delivers the static flow over what is left of it.
		relative(t, "long pulse", e.PerShot(rated, unit.Ms(15), unit.Ms(20), rated, 13.5).Ml(), 510.0/60000*(15-ms), 1e-6)
		relative(t, "held open", e.PerShot(rated, unit.Ms(20), unit.Ms(20), 4*rated, 13.5).Ml(), 2*510.0/60000*20, 1e-12)
		if e.PerShot(rated, 0, unit.Ms(20), rated, 13.5) != 0 {
			t.Error("a leak test is expected to deliver something")
		}
	}
}

func relative(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance*math.Abs(want)) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// The influence of a reading is what a refit comes to when that reading is moved.
func TestInfluenceIsWhatARefitFinds(t *testing.T) {
	p := predicted(t, 2)
	m := &p.Model.sol
	start := lsq.Start{Shared: m.Shared, Local: m.Local}
	sd := m.deviations(m.data, start, p.Model.Noise)
	who := Who{1}
	q := func(m *solution) float64 {
		return m.deadTime(m.Local[1], m.Shared, 300, 13.5, nil)
	}
	_, gr := p.Model.mean(who, func(g int, grad []float64) float64 {
		return m.deadTime(m.Local[g], m.Shared, 300, 13.5, grad)
	})
	effects := p.effect.of(gr)
	base := refit(t, m.family, m.data, sd, start)
	for _, k := range []int{0, 7, 23, 40} {
		moved := m.data
		moved.groups = [][]datum{append([]datum{}, m.data.groups[0]...), append([]datum{}, m.data.groups[1]...)}
		const by = 0.05 // of a standard uncertainty: small enough to be linear
		moved.groups[1][k].q += by * sd[1][k]
		got := (q(refit(t, m.family, moved, sd, start)) - q(base)) / by
		if want := effects[1][k]; math.Abs(got-want) > 0.03*math.Abs(want)+2e-6 {
			t.Errorf("reading %d moves the dead time by %v ms, foretold %v", k, got, want)
		}
	}
}

func refit(t *testing.T, f family, d dataset, sd [][]float64, s lsq.Start) *solution {
	t.Helper()
	p := f.problem(d, sd)
	// Beliefs are centred on the start, so that it is a solution of the unmoved data.
	for i := range p.SharedPrior {
		p.SharedPrior[i].Mean = s.Shared[i]
	}
	for i := range p.LocalPrior {
		p.LocalPrior[i].Mean = s.Local[0][i]
	}
	fit, err := lsq.Levenberg(p, s, lsq.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return &solution{family: f, Solution: fit}
}

// The covariance behind the influence is the one that the fit's solver foretells.
func TestInfluenceHasTheFitsCovariance(t *testing.T) {
	p := predicted(t, 3)
	m := &p.Model.sol
	for i := range m.shared() {
		gr := gradient{shared: make([]float64, m.shared()), local: lsq.Locals{Groups: []int{2}, Slopes: []float64{0.3, -1, 2}}}
		gr.shared[i] = 1
		rhs := mat.NewVecDense(m.shared()+3*locals, nil)
		for k, x := range gr.shared {
			rhs.SetVec(k, x)
		}
		for k, x := range gr.of(0) {
			rhs.SetVec(p.effect.place(2, k), x)
		}
		var x mat.VecDense
		if err := p.effect.chol.SolveVecTo(&x, rhs); err != nil {
			t.Fatal(err)
		}
		relative(t, fmt.Sprint("variance of parameter ", i), mat.Dot(&x, rhs), m.Variance(gr.shared, gr.local), 1e-6)
	}
}

// More of the same readings leave less to chance and as much to the gauges; more
// injectors leave as much of one of them.
func TestRepeatsHelpAgainstChanceAlone(t *testing.T) {
	once := predicted(t, 2)
	twice := plannedGrid(2)
	for _, r := range plannedGrid(2) {
		r.Run += "b"
		twice = append(twice, r)
	}
	more, err := Predict(expected(), plannedSetup(), twice)
	if err != nil {
		t.Fatal(err)
	}
	p, v := unit.KPa(300), unit.Volts(13.5)
	for what, ask := range map[string]func(*Prospect) Prediction{
		"flow":      func(x *Prospect) Prediction { return x.Flow(Who{0}, p) },
		"dead time": func(x *Prospect) Prediction { return x.DeadTime(Who{0}, p, v) },
		"delivered": func(x *Prospect) Prediction { return x.Delivered(Who{0}, unit.Ms(1), p, v) },
	} {
		a, b := ask(once), ask(more)
		if ratio := a.Random / b.Random; ratio < 1.25 || ratio > 1.45 {
			t.Errorf("%s: repeats make chance %.3f times smaller, want about √2", what, ratio)
		}
		relative(t, what+" by gauges", b.Gauges, a.Gauges, 0.1)
		relative(t, what, b.Value, a.Value, 0.02)
	}
}

// A gauge that is wrong moves every reading alike: static flow by n times as much
// (orifice law), whatever the plan; the timer moves the dead time by itself; the
// vessel moves flow by its share and dead time not at all.
func TestGaugesEnterOnce(t *testing.T) {
	only := func(change func(*bench.Setup)) *Prospect {
		s := plannedSetup()
		s.PressureLimit, s.VoltageLimit, s.TimerLimit, s.VesselLimit = 0, 0, 0, unit.Ml(1e-9)
		change(&s)
		list := plannedGrid(1)
		for i := range list {
			list[i].Slot, list[i].Vessel = "", "the one"
		}
		p, err := Predict(expected(), s, list)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	kPa, v := unit.KPa(300), unit.Volts(13.5)
	gauge := only(func(s *bench.Setup) { s.PressureLimit = 0.02 })
	flow := gauge.Flow(Who{0}, kPa)
	relative(t, "flow by the gauge", flow.Gauges/flow.Value, 0.5*0.02/math.Sqrt(3), 0.1)
	timer := only(func(s *bench.Setup) { s.TimerLimit = unit.Ms(0.03) })
	relative(t, "dead time by the timer", timer.DeadTime(Who{0}, kPa, v).Gauges, 0.03/math.Sqrt(3), 0.1)
	if x := timer.Flow(Who{0}, kPa); x.Gauges/x.Value > 1e-3 {
		t.Errorf("the timer moves the flow by %v", x.Gauges/x.Value)
	}
	vessel := only(func(s *bench.Setup) { s.VesselLimit = unit.Ml(1) })
	flow = vessel.Flow(Who{0}, kPa)
	relative(t, "flow by the vessel", flow.Gauges/flow.Value, vessel.Model.gauges.volume, 1e-3)
	if d := vessel.DeadTime(Who{0}, kPa, v).Gauges; d > 1e-3 {
		t.Errorf("the vessel moves the dead time by %v ms", d)
	}
}

func TestPredictSaysWhatIsMissing(t *testing.T) {
	held := bench.Reading{Injector: "1", Pulse: unit.Ms(20), Period: unit.Ms(20), Shots: 500, Pressure: unit.KPa(300), Voltage: 13.5}
	one := held
	one.Pulse = unit.Ms(3)
	for want, list := range map[string][]bench.Reading{
		"no pulses":              {held},
		"no reading":             nil,
		"half a millisecond":     {one, one},
		"no pulses that the fit": {{Injector: "1", Pulse: unit.Ms(19), Period: unit.Ms(20), Shots: 500, Pressure: unit.KPa(300), Voltage: 13.5}},
	} {
		if _, err := Predict(expected(), plannedSetup(), list); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("want an error about %q, got %v", want, err)
		}
	}
}

// An Outlook comes to what the full matrix of all injectors comes to.
func TestOutlookIsTheFullMatrix(t *testing.T) {
	list := plannedGrid(1)
	sizes := []int{2, 3}
	o, err := NewOutlook(expected(), plannedSetup(), list, sizes, 2)
	if err != nil {
		t.Fatal(err)
	}
	needs := []Need{
		{Kind: StaticFlow, Class: 1, Pressure: unit.KPa(200)},
		{Kind: DeliveredFor, Class: 0, Open: unit.Ms(0.8), Pressure: unit.KPa(450), Voltage: 10},
		{Kind: DeliveredFor, Class: 1, Open: unit.Ms(4), Pressure: unit.KPa(300), Voltage: 13.5},
		{Kind: DeliveredBy, Class: 0, Open: unit.Ms(1), Pressure: unit.KPa(300), Voltage: 13.5},
		{Kind: DeliveredBy, Class: 1, Open: unit.Ms(1), Pressure: unit.KPa(300), Voltage: 13.5},
	}
	counts := [][]int{make([]int, len(list)), make([]int, len(list))}
	for k := range list {
		counts[0][k] = 1 + k%2
	}
	for k := 30; k < 40; k++ {
		counts[1][k] = 1
	}
	for _, n := range needs {
		o.Need(n)
	}
	got := append([]float64{}, o.Uncertainties(counts)...)
	for i := range needs {
		relative(t, fmt.Sprint("need ", i), got[i], math.Sqrt(fullVariance(t, o, counts, o.needs[i])), 1e-6)
	}
}

// fullVariance writes the matrix of all injectors out and solves it.
func fullVariance(t *testing.T, o *Outlook, counts [][]int, n need) float64 {
	t.Helper()
	s, total := len(o.shared), 0
	for _, size := range o.sizes {
		total += size
	}
	h := mat.NewSymDense(s+total*locals, nil)
	g := mat.NewVecDense(s+total*locals, nil)
	for i, x := range o.work.prior {
		h.SetSym(i, i, x)
	}
	member, chosen := 0, -1
	for class, size := range o.sizes {
		for range size {
			at := s + member*locals
			for i, x := range o.work.own {
				h.SetSym(at+i, at+i, x)
			}
			for k, times := range counts[class] {
				if times == 0 {
					continue
				}
				row := mat.NewVecDense(s+total*locals, nil)
				for i, x := range o.rows[k][:locals] {
					row.SetVec(at+i, x)
				}
				for i, x := range o.rows[k][locals:] {
					row.SetVec(i, x)
				}
				h.SymRankOne(h, 1/(o.read[k]/float64(times)+o.form[k]), row)
			}
			if class == n.Class && chosen < 0 {
				chosen = member
			}
			member++
		}
	}
	for i := range total {
		part := 0.0
		if n.Kind == DeliveredBy {
			part = -1 / float64(total)
		}
		if i == chosen {
			part++
		}
		for k, x := range n.local {
			g.SetVec(s+i*locals+k, part*x)
		}
	}
	if n.Kind != DeliveredBy {
		for i, x := range n.shared {
			g.SetVec(i, x)
		}
	}
	var c mat.Cholesky
	if !c.Factorize(h) {
		t.Fatal("not definite")
	}
	var x mat.VecDense
	_ = c.SolveVecTo(&x, g)
	return mat.Dot(&x, g)
}

func BenchmarkPredict(b *testing.B) {
	list := plannedGrid(8)
	for b.Loop() {
		if _, err := Predict(expected(), plannedSetup(), list); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkOutlook(b *testing.B) {
	list := plannedGrid(1)
	o, err := NewOutlook(expected(), plannedSetup(), list, []int{4, 8}, 4)
	if err != nil {
		b.Fatal(err)
	}
	for _, v := range []unit.Voltage{10, 11.5, 13.5, 15} {
		for _, w := range []float64{0.8, 1.5, 4} {
			o.Need(Need{Kind: DeliveredFor, Open: unit.Ms(w), Pressure: unit.KPa(300), Voltage: v})
		}
	}
	counts := [][]int{make([]int, len(list)), make([]int, len(list))}
	for k := range list {
		counts[0][k] = 1
	}
	for b.Loop() {
		o.Uncertainties(counts)
	}
}

package tables_test

import (
	"fmt"
	"math"
	"os"
	"slices"
	"testing"

	"injtab/fit"
	"injtab/fit/sim"
	"injtab/fit/unit"
	"injtab/tables"
)

func fittedSession(t testing.TB, s sim.Session) *fit.Model {
	t.Helper()
	m, err := fit.Injectors(checkedText(t, string(s.CSV)), fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// A replayed holds |delivered − wanted| in per cent from 2 ms effective up and below.
type replayed struct{ long, short []float64 }

func (r *replayed) add(u, miss float64) {
	if u >= 2 {
		r.long = append(r.long, math.Abs(miss))
	} else {
		r.short = append(r.short, math.Abs(miss))
	}
}

func p95(x []float64) float64 {
	s := slices.Sorted(slices.Values(x))
	return s[int(math.Ceil(0.95*float64(len(s))))-1]
}

// replay plays the ECU on the tables at conditions between the measured ones and
// asks the truth what each pulse delivers.
func replay(t testing.TB, m *fit.Model, s sim.Session, e *tables.ECU, form tables.Form, twoWay bool) (each, mean replayed) {
	truths := map[string]*sim.Truth{}
	for _, id := range e.Injectors() {
		u := s.Units[id]
		truths[id] = u.Truth()
	}
	for _, p := range []float64{230, 260, 330, 380, 430} {
		flow := m.Flow(m.Everyone(), unit.KPa(p)).Value
		for _, v := range []float64{12.5, 13.2, 13.9, 14.6} {
			for _, u := range []float64{0.9, 1.1, 1.3, 1.6, 1.9, 2, 2.5, 3, 4, 6, 9} {
				want, sum := u*flow/60000, 0.0
				for _, id := range e.Injectors() {
					pulse, err := e.Pulse(id, form, twoWay, want, p, v)
					if err != nil {
						t.Fatal(err)
					}
					got := truths[id].PerShot(unit.Ms(pulse), unit.Ms(pulse+20), unit.KPa(p), unit.Volts(v), sim.RoomTemp).Ml()
					each.add(u, 100*(got/want-1))
					sum += got / float64(len(e.Injectors()))
				}
				mean.add(u, 100*(sum/want-1))
			}
		}
	}
	return each, mean
}

func average(x []float64) (m float64) {
	for _, v := range x {
		m += v / float64(len(x))
	}
	return m
}

// TestAccuracyOfTables replays the finished, rounded tables against simulated
// physics that shares no equation with the fit; vessels are class A (ASTM
// E1272-02(2012), Table 1: 0.5 ml for 100 ml).
func TestAccuracyOfTables(t *testing.T) {
	seeds := uint64(1)
	if os.Getenv("INJTAB_LONG") != "" {
		seeds = 6
	}
	plans := map[string]func() sim.Plan{"mapped": func() sim.Plan { return sim.MappedPlan(4) }, "sparse": sim.SparsePlan}
	type way struct {
		form   tables.Form
		twoWay bool
	}
	// The correction over pulse alone can't follow a bend that depends on voltage.
	limits := map[string]map[bool][4]float64{
		"mapped": {true: {0.8, 1.5, 0.5, 1.2}, false: {0.8, 2, 0.5, 1.5}},
		"sparse": {true: {1.15, 2.4, 0.7, 1.4}, false: {1.2, 2.8, 0.7, 1.9}},
	}
	for _, name := range []string{"mapped", "sparse"} {
		sums := map[way][4][]float64{}
		for _, d := range sim.Designs() {
			for seed := range seeds {
				p := plans[name]()
				p.Bench.VesselLimit = unit.Ml(0.5)
				s := p.Run(d, 8001+seed)
				m := fittedSession(t, s)
				set, err := tables.Build(m, tables.Options{})
				if err != nil {
					t.Fatal(err)
				}
				e, err := tables.NewECU(set.Tables)
				if err != nil {
					t.Fatal(err)
				}
				for _, form := range e.Forms() {
					for _, two := range []bool{false, true} {
						each, mean := replay(t, m, s, e, form, two)
						x := sums[way{form, two}]
						for i, v := range []float64{p95(each.long), p95(each.short), p95(mean.long), p95(mean.short)} {
							x[i] = append(x[i], v)
						}
						sums[way{form, two}] = x
					}
				}
			}
		}
		t.Logf("%s: 95th percentile in %%: each ≥ 2 ms, each shorter, mean ≥ 2 ms, mean shorter", name)
		for _, form := range tables.Forms {
			if form == tables.OwnTables {
				continue
			}
			for _, two := range []bool{false, true} {
				x := sums[way{form, two}]
				line := ""
				for i := range x {
					line += fmt.Sprintf("%7.2f", average(x[i]))
					if form == tables.FlowAndTime && average(x[i]) > limits[name][two][i] {
						t.Errorf("%s, %s, two-way %v: %.2f %%, want at most %.2f %%", name, form, two, average(x[i]), limits[name][two][i])
					}
				}
				t.Logf("%-32s two-way %-5v %s", form.Title(), two, line)
			}
		}
	}
}

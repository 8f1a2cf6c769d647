package tables

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"injtab/fit"
	"injtab/fit/diag"
	"injtab/fit/sim"
	"injtab/fit/unit"
)

// TestRowOfGrid: the list at one row of a grid holds what the two-way look-up gives, and
// has no value where that touches an empty cell.
func TestRowOfGrid(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 9))
	g := gridTable{rows: []float64{8, 10, 13, 16}, cols: []float64{0.5, 1, 2, 4, 9}}
	for range g.rows {
		row := make([]Cell, len(g.cols))
		for c := range row {
			row[c].Value = rng.NormFloat64()
			if rng.IntN(5) == 0 {
				row[c].Status = diag.NotMeasured
			}
		}
		g.cells = append(g.cells, row)
	}
	empty := 0
	for range 1000 {
		x, u := 7+10*rng.Float64(), 10*rng.Float64()
		if rng.IntN(4) == 0 {
			x = g.rows[rng.IntN(len(g.rows))] // on a row its neighbours don't count
		}
		list := listTable{g.cols, make([]float64, len(g.cols))}
		g.row(x, list.values)
		want, err := g.look(x, u)
		switch got := list.look(u); {
		case err != nil:
			empty++
			if !math.IsNaN(got) {
				t.Errorf("at %g, %g: %g, where a cell is empty", x, u, got)
			}
		case !(math.Abs(got-want) <= 1e-12):
			t.Errorf("at %g, %g: %g, want %g", x, u, got, want)
		}
	}
	if empty == 0 || empty == 1000 {
		t.Errorf("%d of 1000 look-ups touched an empty cell", empty)
	}
}

// TestSpreadIsThatOfEachPulse: the spread that is left is that of all pulses played one
// by one, by what the model says that each delivers.
func TestSpreadIsThatOfEachPulse(t *testing.T) {
	m, _ := fittedCSV(t, sim.MappedPlan(6).Run(sim.ByName("A"), 5).CSV)
	set, err := Build(m, Options{})
	if err != nil {
		t.Fatal(err)
	}
	e, err := NewECU(set.Tables)
	if err != nil {
		t.Fatal(err)
	}
	b := &builder{m: m, o: Options{Step: usualStep}, factor: 1, means: &means{}, refP: m.RefP, refV: m.RefV}
	if err := b.check(); err != nil {
		t.Fatal(err)
	}
	lo, hi := b.shortRange()
	us, _ := shortSamples(math.Max(lo, 0.5), hi, 12)
	left, _ := set.Find("spread_left")
	for r, form := range e.Forms() {
		var all, long []float64
		for _, at := range b.runningConditions(runningFrom, runningTo, 3, 3) {
			p, v := unit.KPa(at[0]), unit.Volts(at[1])
			for _, g := range m.Everyone() {
				for _, u := range us {
					want := u * m.MeanFlow(m.Everyone(), p) / 60000
					pulse, err := e.Pulse(m.Members[g].ID, form, true, want, at[0], at[1])
					if err != nil {
						t.Fatal(err)
					}
					miss := 100 * math.Abs(m.DeliveredOf(g, unit.Ms(pulse), p, v)/want-1)
					if all = append(all, miss); u >= 2 {
						long = append(long, miss)
					}
				}
			}
		}
		for c, want := range []float64{fit.Percentile(all, 0.95), slices.Max(all), fit.Percentile(long, 0.95)} {
			if got := left.Cells[r][c].Value; math.Abs(got-want) > 0.005+1e-9 {
				t.Errorf("%s, %s: %g %%, want %.4f", form, left.Cols[c].Name, got, want)
			}
		}
	}
}

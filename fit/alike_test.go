package fit_test

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"injtab/fit"
	"injtab/fit/sim"
)

// drawnSession is a small session of a drawn design: six injectors at one or two
// voltages, one column a quantity.
func drawnSession(t *rapid.T) sim.Session {
	designs := sim.Designs()
	d := designs[rapid.IntRange(0, len(designs)-1).Draw(t, "design")]
	plan := sim.HobbyPlan()
	plan.IDs, plan.Junk, plan.Wide = plan.IDs[:6], 0, false
	plan.Steps = plan.Steps[:1]
	plan.Steps[0].IDs = plan.IDs
	if rapid.Bool().Draw(t, "second voltage") {
		for _, p := range slices.Clone(plan.Steps[0].Points) {
			p.Voltage -= 2
			plan.Steps[0].Points = append(plan.Steps[0].Points, p)
		}
	}
	return plan.Run(d, rapid.Uint64Range(1, 1e6).Draw(t, "seed"))
}

// fewChecks keeps a property whose every case fits two models to a few seconds.
func fewChecks(t *testing.T, prop func(t *rapid.T)) {
	t.Helper()
	if testing.Short() {
		t.Skip("fits many models")
	}
	rapid.Check(t, prop)
}

// modelOf fits a file that is written down in a drawn way.
func modelOf(t *rapid.T, tt *testing.T, f file) *fit.Model {
	t.Helper()
	return fitted(tt, checkedCSV(tt, f.csv()))
}

// TestWrittenOtherwise: in another order of rows, with other names of injectors, in
// other units, with a quantity in a column instead of the setup, a session says the same.
func TestWrittenOtherwise(t *testing.T) {
	fewChecks(t, func(rt *rapid.T) {
		s := drawnSession(rt)
		m := modelOf(rt, t, takeApart(s.CSV))
		f := takeApart(s.CSV)
		rename := same
		if rapid.Bool().Draw(rt, "rename") {
			rename = func(id string) string { return "new " + id }
			f.each("injector", rename)
		}
		if rapid.Bool().Draw(rt, "units") {
			f.rewrite("pulse_ms", "pulse_us", func(x float64) float64 { return 1000 * x })
			f.rewrite("pressure_kpa", "pressure_bar", func(x float64) float64 { return x / 100 })
			f.rewrite("volume_ml", "volume_cc", func(x float64) float64 { return x })
		}
		if rapid.Bool().Draw(rt, "setup as column") {
			f.setupAsColumn("division_ml")
		}
		f.rows = rapid.Permutation(f.rows).Draw(rt, "order")
		agree(t, "written otherwise", m, modelOf(rt, t, f), rename, 1, 1e-6)
	})
}

// each changes the cells of a column.
func (f file) each(column string, change func(string) string) {
	c := slices.Index(f.cols, column)
	for _, r := range f.rows {
		r[c] = change(r[c])
	}
}

// setupAsColumn moves a line of the setup into every row.
func (f *file) setupAsColumn(name string) {
	for k, h := range f.head {
		key, value, ok := strings.Cut(strings.TrimPrefix(h, "# "), " = ")
		if ok && key == name {
			f.head = slices.Delete(slices.Clone(f.head), k, k+1)
			f.cols = append(f.cols, name)
			for i := range f.rows {
				f.rows[i] = append(slices.Clip(f.rows[i]), value)
			}
			return
		}
	}
}

// TestASplitReading, written down as two of half the shots and half the volume each,
// moves estimates by hardly more than their intervals, and mostly by far less: of few readings
// one that is believed a little less or more carries an injector's dead time with it.
func TestASplitReading(t *testing.T) {
	fewChecks(t, func(rt *rapid.T) {
		s := drawnSession(rt)
		m := modelOf(rt, t, takeApart(s.CSV))
		f := takeApart(s.CSV)
		i := rapid.IntRange(0, len(f.rows)-1).Draw(rt, "row")
		if doubts(m) {
			rt.Skip("two readings that agree are believed where one is not")
		}
		f.halve(t, i)
		n := modelOf(rt, t, f)
		for _, x := range m.Members {
			h, ok := n.Find(x.ID)
			if !ok {
				t.Fatalf("injector %s is gone", x.ID)
			}
			y := n.Members[h]
			if moved := math.Abs(x.Flow.Value - y.Flow.Value); moved > 1.5*x.Flow.CI95() {
				rt.Errorf("injector %s: flow moved by %.3f ml/min, interval ± %.3f", x.ID, moved, x.Flow.CI95())
			}
			if moved := math.Abs(x.DeadTime.Value - y.DeadTime.Value); moved > 1.5*x.DeadTime.CI95() {
				rt.Errorf("injector %s: dead time moved by %.4f ms, interval ± %.4f", x.ID, moved, x.DeadTime.CI95())
			}
		}
	})
}

// doubts tells whether the fit left a reading out.
func doubts(m *fit.Model) bool {
	return slices.ContainsFunc(m.Residuals(), func(r fit.Residual) bool { return r.Weight < 0.5 })
}

func (f *file) halve(t *testing.T, i int) {
	t.Helper()
	row := slices.Clone(f.rows[i])
	for _, column := range []string{"shots", "volume_ml"} {
		c := slices.Index(f.cols, column)
		x, err := strconv.ParseFloat(row[c], 64)
		if err != nil {
			t.Fatalf("%s of row %d: %v", column, i, err)
		}
		row[c] = fmt.Sprintf("%g", x/2)
	}
	f.rows[i] = row
	f.rows = slices.Insert(f.rows, i, slices.Clone(row))
}

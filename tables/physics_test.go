package tables_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"injtab/fit/sim"
	"injtab/fit/unit"
	"injtab/tables"
)

// TestTablesFollowPhysics: flow rises with pressure (orifice), dead time falls with the
// supply and rises with pressure (the coil's current must reach what spring and pressure
// ask for), by every design that can be simulated.
func TestTablesFollowPhysics(t *testing.T) {
	for i, d := range sim.Designs() {
		set, err := tables.Build(fittedSession(t, sim.Mapped(d, uint64(60+i))), tables.Options{})
		if err != nil {
			t.Fatal(err)
		}
		flow, _ := set.Find("flow")
		for r := 1; r < len(flow.Cells); r++ {
			if flow.Cells[r][0].Value <= flow.Cells[r-1][0].Value {
				t.Errorf("design %s: flow falls to %.2f at %g kPa", d.Name, flow.Cells[r][0].Value, flow.RowAt[r])
			}
		}
		dead, _ := set.Find("dead_time")
		for r, row := range dead.Cells {
			for c, cell := range row {
				if c > 0 && cell.Value < row[c-1].Value {
					t.Errorf("design %s, %g V: dead time falls over pressure at %s", d.Name, dead.RowAt[r], dead.Cols[c].Name)
				}
				if r > 0 && cell.Value > dead.Cells[r-1][c].Value {
					t.Errorf("design %s, %g V: dead time rises with the supply at %s", d.Name, dead.RowAt[r], dead.Cols[c].Name)
				}
			}
		}
	}
}

// TestLookUpReversed: the volume of the pulse of a volume is that volume again, and more
// fuel asks for a longer pulse, for every injector, form of trim and place.
func TestLookUpReversed(t *testing.T) {
	m := fittedSession(t, sim.Mapped(sim.ByName("B"), 8))
	set, err := tables.Build(m, tables.Options{Each: true})
	if err != nil {
		t.Fatal(err)
	}
	e, err := tables.NewECU(set.Tables)
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		id := rapid.SampledFrom(e.Injectors()).Draw(t, "injector")
		form := rapid.SampledFrom(e.Forms()).Draw(t, "form")
		twoWay := rapid.Bool().Draw(t, "two-way")
		p, v := rapid.Float64Range(200, 450).Draw(t, "kPa"), rapid.Float64Range(10, 15).Draw(t, "V")
		volume := rapid.Float64Range(0.003, 0.05).Draw(t, "ml")
		pulse := func(ml float64) float64 {
			x, err := e.Pulse(id, form, twoWay, ml, p, v)
			if err != nil {
				t.Fatal(err)
			}
			return x
		}
		if longer := pulse(volume * 1.01); longer <= pulse(volume) {
			t.Fatalf("1 %% more fuel asks for %.5f ms instead of %.5f ms", longer, pulse(volume))
		}
		back, ok, err := e.Volume(id, form, twoWay, pulse(volume), p, v)
		if err != nil || !ok || math.Abs(back/volume-1) > 1e-9 {
			t.Fatalf("%.6f ml have a pulse of %.6f ms, which has %.6f ml (%v, %v)", volume, pulse(volume), back, ok, err)
		}
	})
}

// TestModelReversed: the same of the model, whose pulse for a delivered volume is the
// pulse that delivered it.
func TestModelReversed(t *testing.T) {
	m := fittedSession(t, sim.Mapped(sim.ByName("C"), 9))
	rapid.Check(t, func(t *rapid.T) {
		who := m.Everyone()[:1]
		p, v := unit.KPa(rapid.Float64Range(200, 450).Draw(t, "kPa")), unit.Volts(rapid.Float64Range(10, 15).Draw(t, "V"))
		pulse := unit.Ms(m.DeadTime(who, p, v).Value + rapid.Float64Range(0.6, 12).Draw(t, "open ms"))
		q := m.Delivered(who, pulse, p, v)
		if back := m.Pulse(who, unit.Ml(q.Value), p, v).Value; math.Abs(back-pulse.Ms()) > 1e-6 {
			t.Fatalf("%.6f ms deliver %.6f ml, for which the model asks %.6f ms", pulse.Ms(), q.Value, back)
		}
	})
}

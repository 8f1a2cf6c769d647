package tables_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"injtab/fit/diag"
	"injtab/fit/sim"
	"injtab/fit/unit"
	"injtab/tables"
)

// byHand are tables small enough to look up on paper: 300 ml/min at 300 kPa, 0.8 ms
// dead time at 13 V and 1.0 ms at 11 V, +0.1 ms at 1 ms effective and none from 2 ms;
// injector B flows less and opens later.
func byHand() []tables.Table {
	value := func(x float64) tables.Cell { return tables.Cell{Value: x} }
	list := func(name, corner, column string, at, values []float64) tables.Table {
		t := tables.Table{Name: name, Corner: corner, RowAt: at, Row: tables.Column{Name: corner}, Cols: []tables.Column{{Name: column}}}
		for _, v := range values {
			t.Cells = append(t.Cells, []tables.Cell{value(v)})
		}
		return t
	}
	dead := tables.Table{Name: "dead_time", Corner: `voltage_v\pressure_kpa`, RowAt: []float64{11, 13},
		Row: tables.Column{Name: "voltage_v"}, Across: tables.Column{Name: "pressure_kpa"}, Cols: []tables.Column{{Name: "300", At: 300}},
		Cells: [][]tables.Cell{{value(1)}, {value(0.8)}}}
	trims := tables.Table{Name: "trims", Corner: "cylinder", Row: tables.Column{Name: "cylinder", Text: true}, RowText: []string{"1", "2"}}
	for _, c := range []string{"injector", "flow_only_trim_pct", "flow_trim_pct", "dead_time_trim_ms", "factor_flow_trim_pct", "dead_time_factor"} {
		trims.Cols = append(trims.Cols, tables.Column{Name: c, Text: c == "injector"})
	}
	trims.Cells = [][]tables.Cell{
		{{Text: "A"}, value(0), value(0), value(0), value(0), value(1)},
		{{Text: "B"}, value(6), value(5), value(0.05), value(5), value(1.0625)},
	}
	return []tables.Table{
		list("flow", "pressure_kpa", "flow_ml_min", []float64{300}, []float64{300}), dead,
		list("short_pulse", "effective_ms", "correction_ms", []float64{1, 2}, []float64{0.1, 0}), trims,
	}
}

// TestLookUpByHand: 10 mm³ at 300 ml/min are 2 ms effective; every step on paper.
func TestLookUpByHand(t *testing.T) {
	e, err := tables.NewECU(byHand())
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		id   string
		form tables.Form
		m, v float64
		want float64
	}{
		{"A", tables.FlowAndTime, 0.010, 13, 2 + 0 + 0.8},
		{"A", tables.FlowAndTime, 0.005, 12, 1 + 0.1 + 0.9},
		{"A", tables.FlowAndTime, 0.00625, 13, 1.25 + 0.075 + 0.8}, // a quarter of the way
		{"A", tables.FlowAndTime, 0.0075, 20, 1.5 + 0.05 + 0.8},    // beyond 13 V the edge is held
		{"B", tables.FlowAndTime, 0.010, 13, 2.1 + 0 + 0.8 + 0.05},
		{"B", tables.FlowAndScale, 0.010, 13, 2.1 + 0 + 0.8*1.0625},
		{"B", tables.FlowOnly, 0.010, 13, 2.12 + 0.8},
		{"B", tables.NoTrim, 0.010, 13, 2.8},
	} {
		got, err := e.Pulse(c.id, c.form, false, c.m, 300, c.v)
		if err != nil || math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s, %s, %g ml at %g V: %.6f ms, %v; want %.6f", c.id, c.form, c.m, c.v, got, err, c.want)
		}
		if back, ok, err := e.Volume(c.id, c.form, false, c.want, 300, c.v); !ok || err != nil || math.Abs(back-c.m) > 1e-9 {
			t.Errorf("%s, %s, %g ms at %g V: %.6f ml back, want %g", c.id, c.form, c.want, c.v, back, c.m)
		}
	}
}

func TestAnEmptyCellHasNoValue(t *testing.T) {
	ts := byHand()
	ts[1].Cells[0][0] = tables.Cell{Status: diag.DoesNotOpen}
	e, err := tables.NewECU(ts)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := e.Pulse("A", tables.NoTrim, false, 0.01, 300, 12); !errors.Is(err, tables.ErrEmptyCell) {
		t.Errorf("a look-up between a value and an empty cell: %v, want an error", err)
	}
	if _, err := e.Pulse("A", tables.NoTrim, false, 0.01, 300, 13); err != nil {
		t.Errorf("a look-up that touches no empty cell: %v", err)
	}
}

// TestReverseBesideEmptyCells: at 11 V nothing opens below 2 ms effective, so a pulse
// that reaches there has no volume, and one beyond has.
func TestReverseBesideEmptyCells(t *testing.T) {
	value := func(x float64) tables.Cell { return tables.Cell{Value: x} }
	short := tables.Table{Name: "short_pulse_by_voltage", Corner: `voltage_v\effective_ms`, RowAt: []float64{11, 13},
		Row: tables.Column{Name: "voltage_v"}, Across: tables.Column{Name: "effective_ms"},
		Cols:  []tables.Column{{Name: "1", At: 1}, {Name: "2", At: 2}, {Name: "4", At: 4}},
		Cells: [][]tables.Cell{{{Status: diag.DoesNotOpen}, value(0.2), value(0)}, {value(0.1), value(0), value(0)}}}
	e, err := tables.NewECU(append(byHand(), short))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ pulse, v, effective float64 }{
		{1 + 3 + 0.1, 11, 3}, {1 + 4.5, 11, 4.5}, {1 + 2.1, 11, 0}, {0.9 + 3 + 0.05, 12, 3}, {0.9 + 1.5, 12, 0}, {0.8 + 1.55, 13, 1.5}, {0.8 + 0.6, 13, 0.5},
	} {
		ml, ok, err := e.Volume("A", tables.NoTrim, true, c.pulse, 300, c.v)
		switch {
		case c.effective <= 0 && !errors.Is(err, tables.ErrEmptyCell):
			t.Errorf("%g ms at %g V: %g ml, %v; want an empty cell", c.pulse, c.v, ml, err)
		case c.effective > 0 && (!ok || err != nil || math.Abs(ml-c.effective*300/60000) > 1e-12):
			t.Errorf("%g ms at %g V: %g ml, %v, %v; want that of %g ms", c.pulse, c.v, ml, ok, err, c.effective)
		}
	}
}

func TestNonsenseTablesAreRefused(t *testing.T) {
	for want, spoil := range map[string]func([]tables.Table) []tables.Table{
		"trims is missing":                    func(ts []tables.Table) []tables.Table { return ts[:3] },
		"must be above zero":                  func(ts []tables.Table) []tables.Table { ts[0].Cells[0][0].Value = -300; return ts },
		"breakpoints must":                    func(ts []tables.Table) []tables.Table { ts[1].RowAt[1] = 9; return ts },
		"no column":                           func(ts []tables.Table) []tables.Table { ts[3].Cols[2].Name = "trim"; return ts },
		"which no injector":                   func(ts []tables.Table) []tables.Table { ts[3].Cells[1][2].Value = 5000; return ts },
		"dead_time_factor of injector B is 0": func(ts []tables.Table) []tables.Table { ts[3].Cells[1][5].Value = 0; return ts },
		"has injector A twice":                func(ts []tables.Table) []tables.Table { ts[3].Cells[1][0].Text = "A"; return ts },
	} {
		if _, err := tables.NewECU(spoil(byHand())); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want a sentence with %q", err, want)
		}
	}
}

// TestPositiveIsLean: an injector that delivers 5 % less than the table assumes shows
// an error of about +5 %.
func TestPositiveIsLean(t *testing.T) {
	var b strings.Builder
	b.WriteString("# pressure_kpa = 300\n# voltage_v = 13\n# period_ms = 20\n# division_ml = 0.1\ninjector,pulse_ms,shots,volume_ml\n")
	for _, pulse := range []float64{3, 5, 9} {
		fmt.Fprintf(&b, "A,%g,2000,%.2f\n", pulse, 2000*0.95*300/60000*(pulse-0.8))
	}
	c := checkedText(t, b.String())
	e, err := tables.NewECU(byHand())
	if err != nil {
		t.Fatal(err)
	}
	v, err := tables.Verify(e, c, tables.VerifyOptions{Within: 0.02})
	if err != nil {
		t.Fatal(err)
	}
	if want := 100 * (1/0.95 - 1); math.Abs(v.MeanSign-want) > 0.1 || !v.Broken() || v.OutsideTolerance != 3 {
		t.Errorf("mean error %+.2f %%, broken %v, %d outside; want %+.2f %%, true, 3", v.MeanSign, v.Broken(), v.OutsideTolerance, want)
	}
}

// TestWhatBuildPromises: the contract's tables and columns, a gain for chosen axes,
// trims by hand, tables of their own.
func TestWhatBuildPromises(t *testing.T) {
	m := fittedSession(t, sim.Demo())
	set, err := tables.Build(m, tables.Options{Each: true, RawTrims: true})
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]string{
		"flow": "pressure_kpa,flow_ml_min", "short_pulse": "effective_ms,correction_ms",
		"trims":  "cylinder,injector,flow_only_trim_pct,flow_trim_pct,dead_time_trim_ms,factor_flow_trim_pct,dead_time_factor",
		"limits": "injector,linear_from_ms,smallest_fuel_ml,closing_time_ms,lowest_opening_v,leak_ml_min",
	}
	for name, head := range want {
		table, ok := set.Find(name)
		if !ok {
			t.Fatalf("no table %s", name)
		}
		got := table.Corner
		for _, c := range table.Cols {
			got += "," + c.Name
		}
		if got != head {
			t.Errorf("%s has %s, want %s", name, got, head)
		}
	}
	for name, corner := range map[string]string{"dead_time": `voltage_v\pressure_kpa`, "short_pulse_by_voltage": `voltage_v\effective_ms`, "trims_by_pulse": "injector"} {
		if table, ok := set.Find(name); !ok || table.Corner != corner {
			t.Errorf("%s begins with %q, want %q", name, table.Corner, corner)
		}
	}
	for _, g := range set.Gains {
		if g.ChosenMiss > 1.2*g.EvenMiss+1e-4 {
			t.Errorf("%s over %s: chosen breakpoints miss by %.5f, even ones by %.5f", g.Table, g.Axis, g.ChosenMiss, g.EvenMiss)
		}
	}
	if set.Rounding.At1msPct <= 0 || set.Rounding.At1msPct > 0.1 {
		t.Errorf("rounding to 0.001 ms costs %.3f %% at 1 ms", set.Rounding.At1msPct)
	}
	left, _ := set.Find("spread_left")
	if before, after := left.Cells[0][0].Value, left.Cells[3][0].Value; after > before/2 {
		t.Errorf("spread before trims %.2f %%, with percentage and factor %.2f %%: want less than half", before, after)
	}
	if _, ok := set.Find("own_dead_time_1"); !ok {
		t.Error("no tables of each injector's own")
	}
	compact, _ := set.Find("compact")
	for r, name := range compact.RowText {
		if name == "dead_a_ms" && compact.Cells[r][1].Value > 0.05 {
			t.Errorf("the compact dead time deviates by %.4f ms", compact.Cells[r][1].Value)
		}
	}
}

// TestFarCellsAreEmpty unless asked for, and then less sure.
func TestFarCellsAreEmpty(t *testing.T) {
	m := fittedSession(t, sim.Mapped(sim.ByName("A"), 4))
	axis := tables.AxisSpec{Values: []float64{12, 15, 18}}
	set, err := tables.Build(m, tables.Options{Voltage: axis})
	if err != nil {
		t.Fatal(err)
	}
	dead, _ := set.Find("dead_time")
	if c := dead.Cells[2][0]; c.Status != diag.NotMeasured {
		t.Errorf("18 V, measured to 15 V: %+v, want empty", c)
	}
	if set, err = tables.Build(m, tables.Options{Voltage: axis, Extrapolate: true}); err != nil {
		t.Fatal(err)
	}
	dead, _ = set.Find("dead_time")
	if c, near := dead.Cells[2][0], dead.Cells[1][0]; c.Basis != diag.Extrapolated || c.CI95 <= near.CI95 {
		t.Errorf("18 V extrapolated: %+v beside %+v at 15 V", c, near)
	}
}

func TestBuildRefuses(t *testing.T) {
	m := fittedSession(t, sim.Hobby(sim.ByName("A"), 3))
	for want, o := range map[string]tables.Options{
		"is not among the fitted ones": {Injectors: []string{"99"}},
		"is named twice":               {Injectors: []string{m.Members[0].ID, m.Members[0].ID}},
		"--pressure-axis":              {Pressure: tables.AxisSpec{Values: []float64{300, 200}}},
	} {
		if _, err := tables.Build(m, o); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want a sentence with %q", err, want)
		}
	}
}

func TestPaste(t *testing.T) {
	ts := byHand()
	ts[1].Cols[0].Unit, ts[1].Cols[0].Decimals, ts[0].Cols[0].Unit = "ms", 3, "ml/min"
	ts[1].Across.Unit = "kPa"
	grid, err := tables.Paste(ts[1], tables.PasteOptions{Unit: "us", Axes: true, PressureUnit: "bar", Gauge: unit.KPa(100), ReverseRows: true})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := tables.TSV(grid), "voltage_v\\pressure_bar\t4\n13\t800\n11\t1000\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	grid, err = tables.Paste(ts[1], tables.PasteOptions{Transpose: true, Step: 0.05})
	if got, want := tables.TSV(grid), "1.00\t0.80\n"; err != nil || got != want {
		t.Errorf("got %q, %v; want %q", got, err, want)
	}
	// 300 ml/min at 0.745 kg/l are 223.5 g/min.
	grid, err = tables.Paste(ts[0], tables.PasteOptions{Unit: "g/min", Density: 745, Step: 0.1})
	if got, want := tables.TSV(grid), "223.5\n"; err != nil || got != want {
		t.Errorf("got %q, %v; want %q", got, err, want)
	}
	// Columns of other quantities keep their numbers and names; a step is for its unit.
	mixed := tables.Table{Name: "mixed", Corner: "injector", Row: tables.Column{Text: true}, RowText: []string{"7"}, Cols: []tables.Column{
		{Name: "from_ms", Title: "From", Unit: "ms", Decimals: 3}, {Name: "trim_pct", Title: "Trim", Unit: "%", Decimals: 2}},
		Cells: [][]tables.Cell{{{Value: 1.528}, {Value: 1.31}}}}
	grid, err = tables.Paste(mixed, tables.PasteOptions{Unit: "us", Axes: true, Step: 0.5, StepUnit: "%"})
	if got, want := tables.TSV(grid), "injector\tFrom, us\ttrim_pct\n7\t1528\t1.5\n"; err != nil || got != want {
		t.Errorf("got %q, %v; want %q", got, err, want)
	}
	if _, err := tables.Paste(mixed, tables.PasteOptions{Step: 0.5, StepUnit: "ml"}); err == nil {
		t.Error("a step in ml: want a sentence")
	}
	for _, u := range []string{"g/min", "V", "furlongs"} {
		if _, err := tables.Paste(ts[0], tables.PasteOptions{Unit: u}); err == nil {
			t.Errorf("flow in %s without a density: want a sentence", u)
		}
	}
}

func TestAxisFile(t *testing.T) {
	var o tables.Options
	good := "# my ECU\nvoltage_v: 8, 10; 12\t14\npressure_bar: 2 3 4\neffective_us: 500, 1000\n"
	if err := tables.ReadAxes(strings.NewReader(good), "axes.txt", &o); err != nil {
		t.Fatal(err)
	}
	if fmt.Sprint(o.Voltage.Values, o.Pressure.Values, o.Pulse.Values) != "[8 10 12 14] [200 300 400] [0.5 1]" {
		t.Errorf("read %v %v %v", o.Voltage.Values, o.Pressure.Values, o.Pulse.Values)
	}
	for text, want := range map[string]string{
		"":                           "no axis was found",
		"voltage_v 8 9":              "line 1: \"voltage_v 8 9\" has no colon",
		"rpm: 1000, 2000":            "is no axis",
		"voltage_v:":                 "has no values",
		"voltage_v: 8\nvoltage_v: 9": "line 2: the axis voltage is there twice",
		"voltage_v: 8, nine":         "\"nine\" is not a number",
		"voltage_v: 12, 10":          "line 1: axis voltage in V: 10 follows 12",
		"# x\npressure_bar: 3, 40":   "line 2: axis pressure in kPa: 4000 is beyond what is physical",
		"pressure_psi: 1e308":        "line 1: axis pressure_psi: 1e308 is too large",
		"effective_ms: 1e300":        "1e+300 is beyond what is physical",
		"voltage_v: 8" + strings.Repeat(" ", 1<<20): "axes.txt: this file is larger than 1 MB",
	} {
		var o tables.Options
		if err := tables.ReadAxes(strings.NewReader(text), "axes.txt", &o); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want a sentence with %q", text, err, want)
		}
	}
}

package main

import (
	"bytes"
	"math"
	"testing"

	"injtab/export"
	"injtab/fit/sim"
	"injtab/tables"
)

// demoSheets are the live sheets of the demonstration, by name, with the tables
// looked up as verification does.
func demoSheets(t *testing.T) (job, *tables.ECU, map[string]export.Calculation) {
	t.Helper()
	s, err := checkSession("bench.csv", bytes.NewReader(sim.DemoCSV()))
	if err != nil {
		t.Fatal(err)
	}
	j, err := (&app{}).doDemo(s)
	if err != nil {
		t.Fatal(err)
	}
	ecu, err := tables.NewECU(j.set.Tables)
	if err != nil {
		t.Fatal(err)
	}
	list, err := liveSheets(j.set, j.inputs)
	if err != nil {
		t.Fatal(err)
	}
	sheets := map[string]export.Calculation{}
	for _, c := range list {
		sheets[c.Name] = c
	}
	return j, ecu, sheets
}

// TestPulseSheetAgreesWithTheECU works the sheet out entry by entry, for several
// points and injectors, and compares with the look-up that verification uses.
func TestPulseSheetAgreesWithTheECU(t *testing.T) {
	_, ecu, sheets := demoSheets(t)
	for _, id := range ecu.Injectors() {
		for _, in := range [][3]float64{{0.02, 300, 13.5}, {0.004, 250, 12.1}, {0.05, 391, 9.7}, {0.001, 100, 20}} {
			want, err := ecu.Pulse(id, tables.FlowAndTime, false, in[0], in[1], in[2])
			if err != nil {
				t.Fatal(err)
			}
			k := known(typed(sheets["fuel to pulse"], map[string]any{"in_fuel": in[0], "in_pressure": in[1], "in_voltage": in[2], "in_injector": id}).Known())
			if got := k.of("pulse_ms"); math.Abs(got-want) > 1e-9 {
				t.Errorf("injector %s, %v: the sheet says %v ms, the ECU %v ms", id, in, got, want)
			}
			// One shot in two turns at 6000 rpm: a window of 20 ms (kinematics).
			if duty := k.of("duty_pct"); math.Abs(duty-100*want/20) > 1e-9 {
				t.Errorf("duty %v %%, want %v %%", duty, 100*want/20)
			}
		}
	}
}

// typed is a calculation with other inputs, numbers or texts.
func typed(c export.Calculation, inputs map[string]any) export.Calculation {
	c.Entries = append([]export.Entry{}, c.Entries...)
	for i := range c.Entries {
		switch x := inputs[c.Entries[i].Name].(type) {
		case float64:
			c.Entries[i].Number = x
		case string:
			c.Entries[i].Text = x
		}
	}
	return c
}

package main

import (
	"bytes"
	"math"
	"testing"

	"injtab/export"
	"injtab/fit/sim"
	"injtab/tables"
)

// TestPulseSheetAgreesWithTheECU works the sheet out entry by entry, for several
// points and injectors, and compares with the look-up that verification uses.
func TestPulseSheetAgreesWithTheECU(t *testing.T) {
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
	sheet, ok := pulseSheet(j.set)
	if !ok {
		t.Fatal("no sheet")
	}
	for _, id := range ecu.Injectors() {
		for _, in := range [][3]float64{{0.02, 300, 13.5}, {0.004, 250, 12.1}, {0.05, 391, 9.7}, {0.001, 100, 20}} {
			want, err := ecu.Pulse(id, tables.FlowAndTime, false, in[0], in[1], in[2])
			if err != nil {
				t.Fatal(err)
			}
			k := workOut(sheet, map[string]float64{"in_fuel": in[0], "in_pressure": in[1], "in_voltage": in[2]}, id)
			if got := k["pulse_ms"].Number; math.Abs(got-want) > 1e-9 {
				t.Errorf("injector %s, %v: the sheet says %v ms, the ECU %v ms", id, in, got, want)
			}
			// One shot in two turns at 6000 rpm: a window of 20 ms (kinematics).
			if duty := k["duty_pct"].Number; math.Abs(duty-100*want/20) > 1e-9 {
				t.Errorf("duty %v %%, want %v %%", duty, 100*want/20)
			}
		}
	}
}

// workOut gives every entry its value, as the workbook does.
func workOut(c export.Calculation, inputs map[string]float64, injector string) map[string]export.Entry {
	known := map[string]export.Entry{}
	for _, e := range c.Entries {
		if x, ok := inputs[e.Name]; ok {
			e.Number = x
		}
		if e.Name == "in_injector" {
			e.Text = injector
		}
		if e.Value != nil {
			e.Number = e.Value(known)
		}
		known[e.Name] = e
	}
	return known
}

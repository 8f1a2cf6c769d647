package tables

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"injtab/fit"
	"injtab/fit/fluid"
)

// TestSetResultLaysOutEveryTable: each table is in the result and in the report, the
// seats are those asked for, and the answer speaks of the injectors.
func TestSetResultLaysOutEveryTable(t *testing.T) {
	m := demoModel(t)
	gasoline, err := fluid.Lookup("gasoline")
	if err != nil {
		t.Fatal(err)
	}
	o := Options{Injectors: []string{"L3", "L4"}, Cylinders: map[string]int{"L3": 2, "L4": 1}, Fuel: &gasoline}
	set, err := Build(m, o)
	if err != nil {
		t.Fatal(err)
	}
	r := NewSetResult(set, "abc", m.Checked.Notes()).WithTables()
	if _, err := json.Marshal(r); err != nil {
		t.Error(err)
	}
	if len(r.Tables) != len(set.Tables) || len(r.Sections()) != len(set.Tables)-1 { // the check shows the deviations
		t.Errorf("%d tables and %d sections of %d tables", len(r.Tables), len(r.Sections()), len(set.Tables))
	}
	if len(r.Injectors) != 2 || r.Injectors[0] != (Seated{"L4", "1"}) || r.Injectors[1] != (Seated{"L3", "2"}) {
		t.Errorf("seated are %v", r.Injectors)
	}
	if seats := r.Seats(m); seats.Rows() != 2 {
		t.Errorf("%d seats", seats.Rows())
	}
	report := r.Report()
	if len(report.Answer) == 0 || len(report.Next) == 0 || len(report.Cautions) == 0 || len(report.Facts) == 0 {
		t.Errorf("the report lacks a part: %+v", report)
	}
	if summary := r.Summary(); len(summary.Sections) >= len(report.Sections) {
		t.Errorf("the summary has %d sections, the report %d", len(summary.Sections), len(report.Sections))
	}
	if essence := strings.Join(r.Essence(m), " "); !strings.Contains(essence, "ml/min") {
		t.Errorf("the essence tells no flow: %q", essence)
	}
	if set.SampleFuel() <= 0 {
		t.Errorf("the sample is %v ml", set.SampleFuel())
	}
	for _, table := range set.Tables {
		checkAll(t, TableReport(table))
		if c, ok := ChartOf(table); ok {
			checkChart(t, c)
		}
	}
}

// checkAll demands tables that are whole and charts that can be drawn.
func checkAll(t *testing.T, r Report) {
	t.Helper()
	for _, s := range r.Sections {
		for _, table := range s.Tables {
			if err := shaped(table); err != nil {
				t.Errorf("section %s: %v", s.Name, err)
			}
			for _, row := range table.Cells {
				for _, c := range row {
					if !finite(c.Value) || !finite(c.CI95) {
						t.Errorf("section %s, table %s: %+v", s.Name, table.Name, c)
					}
				}
			}
		}
		for _, c := range s.Charts {
			checkChart(t, c)
		}
	}
}

// TestReportsAreWhole: what the verbs show has an answer, whole tables and charts.
func TestReportsAreWhole(t *testing.T) {
	m := demoModel(t)
	for _, r := range []Report{NewCheck(m.Checked, m.Checked.Notes()).Report(), NewFit(m, m.Checked.Notes()).Report(), NewFluids().Report()} {
		checkAll(t, r)
		if r.Title == "" || len(r.Answer)+len(r.Sections) == 0 {
			t.Errorf("an empty report: %+v", r)
		}
	}
	if table := NewFluids().Table(); table.Rows() != len(fluid.All()) {
		t.Errorf("%d fluids of %d", table.Rows(), len(fluid.All()))
	}
	if table := NewFit(m, nil).Table(); table.Rows() != len(m.Members) {
		t.Errorf("%d injectors of %d", table.Rows(), len(m.Members))
	}
	if table := Residuals(m); table.Rows() < 100 {
		t.Errorf("%d residuals", table.Rows())
	}
}

// TestHeldOut: readings that had no say are met nearly as well as those that had, at
// each n-th of them and at each condition in turn.
func TestHeldOut(t *testing.T) {
	m := demoModel(t)
	e := ecuOf(t, m, Options{})
	all, err := Verify(e, m.Checked, VerifyOptions{Model: ModelOf(m)})
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range []HoldOut{{Every: 5}, {Condition: true}} {
		v, err := VerifyHeldOut(e, m.Checked, h, VerifyOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if v.HeldOut != h.String() || v.Points == 0 || v.Points > all.Points {
			t.Errorf("%v: %d points of %d", h, v.Points, all.Points)
		}
		if v.MeanAbs < 0.5*all.MeanAbs || v.MeanAbs > 5*all.MeanAbs {
			t.Errorf("%v: misses by %.2f %% on the average, all readings by %.2f %%", h, v.MeanAbs, all.MeanAbs)
		}
		checkAll(t, v.Report(nil))
		checkAll(t, Report{Sections: []Section{all.SectionBeside(&v)}})
	}
	if s := all.Shares; s == nil || math.Abs(math.Hypot(s.ReadingPct, 0)) > s.AllPct*1.5 {
		t.Errorf("shares %+v", s)
	}
}

// TestCompareWithItself: a session has not changed from itself.
func TestCompareWithItself(t *testing.T) {
	m := demoModel(t)
	c, err := fit.Compare(m, m)
	if err != nil {
		t.Fatal(err)
	}
	r := NewCompare(c, m, m, nil)
	if _, err := json.Marshal(r); err != nil {
		t.Error(err)
	}
	if len(r.Injectors) != len(m.Checked.Injectors()) || r.Table().Rows() != len(r.Injectors) {
		t.Errorf("%d injectors of %d, %d rows", len(r.Injectors), len(m.Checked.Injectors()), r.Table().Rows())
	}
	for _, x := range r.Injectors {
		if x.FlowReal || x.DeadReal || x.Flow != nil && math.Abs(x.Flow.Value) > 1e-9 {
			t.Errorf("%+v has changed from itself", x)
		}
	}
	checkAll(t, r.Report())
}

// TestWeightsDrawBreakpoints: where a miss counts for more, the tables miss by less.
func TestWeightsDrawBreakpoints(t *testing.T) {
	m := demoModel(t)
	at := func(o Options) float64 {
		o.Pulse.Count = 6
		set, err := Build(m, o)
		if err != nil {
			t.Fatal(err)
		}
		short, ok := set.Find("short_pulse")
		if !ok {
			t.Fatal("no correction of short pulses")
		}
		gap := math.Inf(1) // between the breakpoints about 1.5 ms
		for i := 1; i < len(short.RowAt); i++ {
			if short.RowAt[i-1] <= 1.5 && short.RowAt[i] >= 1.5 {
				gap = math.Min(gap, short.RowAt[i]-short.RowAt[i-1])
			}
		}
		return gap
	}
	even, drawn := at(Options{}), at(Options{Profile: []Weight{{pulseAxis, 1, 1}, {pulseAxis, 1.5, 200}, {pulseAxis, 2, 1}}})
	if !(drawn <= even) {
		t.Errorf("breakpoints about 1.5 ms are %v ms apart, with weight there %v ms", even, drawn)
	}
	for _, bad := range [][]Weight{{{"rpm", 1, 1}}, {{pulseAxis, 0, 1}}, {{pulseAxis, 1, 0}}, {{pulseAxis, 1, 1}, {pulseAxis, 1, 2}}} {
		if _, err := Build(m, Options{Profile: bad}); err == nil || !strings.Contains(err.Error(), "--weight") {
			t.Errorf("%v: %v", bad, err)
		}
	}
}

// TestRange: both ends are there where the step meets the last.
func TestRange(t *testing.T) {
	got, err := Range(8.0, 10, 0.5)
	if err != nil || len(got) != 5 || got[0] != 8 || math.Abs(got[4]-10) > 1e-12 {
		t.Errorf("%v, %v", got, err)
	}
	for _, bad := range [][3]float64{{10, 8, 1}, {8, 10, 0}, {8, 10, -1}, {0, 1000, 1}} {
		if got, err := Range(bad[0], bad[1], bad[2]); err == nil {
			t.Errorf("%v gives %v", bad, got)
		}
	}
}

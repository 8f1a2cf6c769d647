package fit_test

import (
	"bytes"
	"math"
	"os"
	"slices"
	"testing"

	"injtab/fit"
	"injtab/fit/bench"
	"injtab/fit/sim"
	"injtab/fit/unit"
)

// long tells whether the long forms of the statistical tests are asked for:
// INJTAB_LONG=1 go test ./fit -run 'Coverage|Accuracy|Gross' -v -timeout 60m
func long() bool { return os.Getenv("INJTAB_LONG") != "" }

// checkedSession runs a simulated session through the reader and the checks.
func checkedSession(t testing.TB, s sim.Session) bench.Checked {
	t.Helper()
	return checkedCSV(t, s.CSV)
}

func checkedCSV(t testing.TB, csv []byte) bench.Checked {
	t.Helper()
	sheet, err := bench.Read(bytes.NewReader(csv), "session.csv")
	if err != nil {
		t.Fatal(err)
	}
	c, _, err := bench.Check(sheet)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func fitted(t testing.TB, c bench.Checked) *fit.Model {
	t.Helper()
	m, err := fit.Injectors(c, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// A shape is one of the three kinds of session that people run.
type shape struct {
	name string
	plan func() sim.Plan
	// conditions inside what was measured, V and kPa
	volts, kpa []float64
	// opens are the open times in ms at which delivered fuel is judged
	opens []float64
	// own judges a session at its own condition: gauge errors are not counted
	own bool
}

var shapes = []shape{
	{"mapped", func() sim.Plan { return sim.MappedPlan(4) },
		[]float64{12.5, 13.2, 13.9, 14.6}, []float64{230, 260, 330, 380, 430},
		[]float64{0.9, 1.1, 1.3, 1.6, 1.9, 2, 2.5, 3, 4, 6, 9}, false},
	{"sparse", sim.SparsePlan,
		[]float64{12.5, 13.2, 13.9, 14.6}, []float64{230, 260, 330, 380, 430},
		[]float64{0.9, 1.1, 1.3, 1.6, 1.9, 2, 2.5, 3, 4, 6, 9}, false},
	{"hobby", sim.HobbyPlan, []float64{13.5}, []float64{300},
		[]float64{1.5, 1.75, 2, 2.5, 3, 4, 6, 9}, true},
}

// asked is the condition at which the truth is asked for a label on the bench.
func (sh shape) asked(s sim.Session, t, p, v float64) (unit.Time, unit.Pressure, unit.Voltage) {
	if !sh.own {
		return unit.Ms(t), unit.KPa(p), unit.Volts(v)
	}
	return unit.Ms(t) + s.Errors.Timer, unit.KPa(p * (1 + float64(s.Errors.Pressure))), unit.Volts(v * (1 + float64(s.Errors.Voltage)))
}

// sound are the members without a planted trouble.
func sound(m *fit.Model, s sim.Session) (who fit.Who) {
	for g, x := range m.Members {
		if s.Troubles[x.ID] == sim.None {
			who = append(who, g)
		}
	}
	return who
}

func quantile(x []float64, q float64) float64 {
	s := slices.Sorted(slices.Values(x))
	if len(s) == 0 {
		return 0
	}
	return s[int(math.Ceil(q*float64(len(s))))-1]
}

func mean(x []float64) (m float64) {
	for _, v := range x {
		m += v / float64(len(x))
	}
	return m
}

package fit_test

import (
	"bytes"
	"testing"

	"injtab/fit"
	"injtab/fit/bench"
	"injtab/fit/sim"
)

// checkedSession runs a simulated session through the reader and the checks.
func checkedSession(t testing.TB, s sim.Session) bench.Checked {
	t.Helper()
	sheet, err := bench.Read(bytes.NewReader(s.CSV), "session.csv")
	if err != nil {
		t.Fatal(err)
	}
	c, _, err := bench.Check(sheet)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// BenchmarkMapped is the whole fit of eight injectors mapped at 12 conditions and
// nine pulses: 864 readings, robust, with model choice.
func BenchmarkMapped(b *testing.B) {
	c := checkedSession(b, sim.MappedPlan(8).Run(sim.ByName("A"), 1))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := fit.Injectors(c, fit.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkHobby is the fit of a box of twenty at one condition.
func BenchmarkHobby(b *testing.B) {
	c := checkedSession(b, sim.Hobby(sim.ByName("A"), 1))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := fit.Injectors(c, fit.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

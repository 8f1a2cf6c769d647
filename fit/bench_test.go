package fit_test

import (
	"testing"

	"injtab/fit"
	"injtab/fit/sim"
)

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

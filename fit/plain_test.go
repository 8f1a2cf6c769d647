package fit_test

import (
	"math"
	"testing"

	"injtab/fit"
	"injtab/fit/sim"
	"injtab/fit/unit"
)

// TestPlainNumbersAreThoseOfEstimates: what is worked out without an interval, for a search
// or a picture, is the value of the estimate that has one, and none where it has none.
func TestPlainNumbersAreThoseOfEstimates(t *testing.T) {
	m := fitted(t, checkedCSV(t, sim.Demo().CSV))
	who := m.Everyone()
	values := 0
	for _, kPa := range []float64{250, 300, 420} {
		for _, volts := range []float64{2, 9, 13.5, 16} {
			p, v := unit.KPa(kPa), unit.Volts(volts)
			same := func(what string, plain float64, e fit.Estimate) {
				if !e.Status.HasValue() {
					if !math.IsNaN(plain) {
						t.Errorf("%s at %g kPa %g V: %g, want none", what, kPa, volts, plain)
					}
					return
				}
				values++
				if math.Abs(plain-e.Value) > 1e-12*math.Abs(e.Value) {
					t.Errorf("%s at %g kPa %g V: %g, want %g", what, kPa, volts, plain, e.Value)
				}
			}
			same("dead time", m.MeanDeadTime(who, p, v), m.DeadTime(who, p, v))
			for _, ms := range []float64{0.8, 1.5, 6} {
				same("delivered", m.MeanDelivered(who, unit.Ms(ms), p, v), m.Delivered(who, unit.Ms(ms), p, v))
				same("delivered of one", m.DeliveredOf(who[0], unit.Ms(ms), p, v), m.Delivered(who[:1], unit.Ms(ms), p, v))
			}
		}
	}
	if values == 0 {
		t.Error("no estimate has a value")
	}
}

package fit_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"injtab/fit"
	"injtab/fit/bench"
	"injtab/fit/unit"
)

// TestNoFormIsLost: forms that the readings hardly tell apart come to their end slowly, and
// are compared all the same. The injectors follow a law that no form has.
func TestNoFormIsLost(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 0))
	var list []bench.Reading
	for range 10 {
		for _, at := range []struct {
			kPa, volts float64
			pulses     []float64
		}{{300, 13.5, []float64{1.6, 2, 2.5, 3, 4, 6, 9, 14}}, {300, 12, []float64{2, 3, 5, 10}}, {300, 10, []float64{2.5, 3.5, 6, 12}}, {400, 13.5, []float64{2, 3, 5, 10}}} {
			for _, pulse := range at.pulses {
				for g := range 5 {
					root := math.Sqrt(at.kPa / 300)
					open := pulse - (1+0.02*float64(g-2))*(0.35+6.5*root/at.volts)
					ml := 1000 * 240.0 / 60000 * (1 + 0.01*float64(g-2)) * root * (open - 0.12*(1-math.Exp(-open/0.35))) * (1 + 0.003*rng.NormFloat64())
					list = append(list, bench.Reading{Injector: fmt.Sprint(g + 1), Pulse: unit.Ms(pulse), Period: unit.Ms(20), Shots: 1000,
						Volume: unit.Ml(math.Round(ml*10) / 10), Pressure: unit.KPa(at.kPa), Voltage: unit.Volts(at.volts), Line: len(list) + 2})
				}
			}
		}
	}
	c, _, err := bench.Check(bench.Sheet{Setup: bench.Setup{RatedPressure: unit.KPa(300)}, Readings: bench.NewReadings(list...)})
	if err != nil {
		t.Fatal(err)
	}
	m, err := fit.Injectors(c, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range m.Choices {
		if x.AICc > 1e6 {
			t.Errorf("%v was not fitted", x)
		}
	}
}

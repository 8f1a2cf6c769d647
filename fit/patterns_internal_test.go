package fit

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"injtab/fit/bench"
	"injtab/fit/unit"
)

// TestPatterns: vessels of which one reads high and the other low are told; pulses and
// runs, whose readings scatter about the model, are not.
func TestPatterns(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 8))
	var readings []bench.Reading
	var rs []Residual
	for k := range 240 {
		vessel, high := "A", -1.0
		if k%2 == 1 {
			vessel, high = "B", 1
		}
		readings = append(readings, bench.Reading{Injector: fmt.Sprint(k%8 + 1), Run: fmt.Sprint(k / 4), Vessel: vessel,
			Pulse: unit.Ms(float64(2 + k%3)), Period: unit.Ms(20), Shots: 1000, Volume: unit.Ml(10),
			Pressure: unit.KPa(300), Voltage: unit.Volts(13.5), Line: k + 2})
		z := rng.NormFloat64() + 1.4*high
		rs = append(rs, Residual{Reading: k, Z: z, Pct: z / 2, Weight: 1})
	}
	// One that was not believed is not asked, which leaves three in its run: too few.
	rs[7].Z, rs[7].Pct, rs[7].Weight = -1e6, -1e6, 0
	c, _, err := bench.Check(bench.Sheet{Readings: bench.NewReadings(readings...)})
	if err != nil {
		t.Fatal(err)
	}
	notes := (&Model{Checked: c}).patterns(rs)
	told := fmt.Sprint(notes)
	if len(notes) != 2 || !strings.Contains(told, "in vessel B are 0.7 % above") || !strings.Contains(told, "in vessel A are 0.6 % below") {
		t.Errorf("told: %v, want vessel A below and B above", told)
	}
	found, tests := (&Model{Checked: c}).unlikely(rs)
	if tests != 3+59+2 {
		t.Errorf("%d tests, want those of 3 pulses, 59 runs and 2 vessels", tests)
	}
	for i := range found {
		if found[i].p < 0 || found[i].p > 0.5 || i > 0 && found[i].p < found[i-1].p {
			t.Errorf("unlikely ones are not in order: %+v", found)
		}
	}
}

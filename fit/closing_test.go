package fit_test

import (
	"strings"
	"testing"

	"injtab/fit"
	"injtab/fit/sim"
	"injtab/fit/unit"
)

// closingSession adds to each step pulses that leave the given off-times in ms.
func closingSession(seed uint64, offs ...float64) sim.Session {
	plan := sim.HobbyPlan()
	for i, step := range plan.Steps {
		for _, off := range offs {
			p := step.Points[0]
			p.Pulse = p.Period - unit.Ms(off)
			plan.Steps[i].Points = append(plan.Steps[i].Points, p)
		}
	}
	return plan.Run(sim.ByName("A"), seed)
}

// TestClosedReadingsCount: a reading of short off-time is part of the fit as soon as
// the curve shows that the needle closed, and is not where it did not.
func TestClosedReadingsCount(t *testing.T) {
	without := fitted(t, checkedSession(t, closingSession(5)))
	with := fitted(t, checkedSession(t, closingSession(5, 2.2, 0.2)))
	for g, x := range with.Members {
		known, fails := with.Closing(g)
		if known < 2.1 || known > 2.3 || fails < 0.1 || fails > 0.3 {
			t.Errorf("injector %s: closes in %.2f ms, not in %.2f ms; it was read with 2.2 and 0.2 ms off", x.ID, known, fails)
		}
		h, ok := without.Find(x.ID)
		if ok && x.N != without.Members[h].N+1 {
			t.Errorf("injector %s: %d readings in the fit, %d without those of short off-time", x.ID, x.N, without.Members[h].N)
		}
	}
	if !hasNote(with, "not_closed") {
		t.Error("no word on the readings whose injector did not close")
	}
}

func TestAllReadingsOfShortOffTime(t *testing.T) {
	_, err := fitCSV(t, `# pressure_kpa = 300
# voltage_v = 13.5
# period_ms = 5
# division_ml = 1
injector,pulse_ms,shots,volume_ml
1,3,5000,55
1,4,4000,64
`, fit.Options{})
	if err == nil || !strings.Contains(err.Error(), "2.5 ms") {
		t.Errorf("error %v, want one that names the off-time", err)
	}
}

// TestOneRealPulse: a pulse that hardly opens the needle tells nothing beside one other.
func TestOneRealPulse(t *testing.T) {
	_, err := fitCSV(t, ideal([]string{"1", "2"}, []float64{0.95, 5})+"1,1.4,6000,17.9\n", fit.Options{})
	if err != nil {
		t.Fatalf("with a third pulse: %v", err)
	}
	_, err = fitCSV(t, ideal([]string{"1", "2"}, []float64{0.95, 5}), fit.Options{})
	if err == nil || !strings.Contains(err.Error(), "hardly opened") {
		t.Errorf("error %v, want one on the pulse of 0.15 ms of open time", err)
	}
}

func TestAnInjectorThatCouldNotBeFittedIsNamed(t *testing.T) {
	m, err := fitCSV(t, ideal([]string{"1"}, []float64{4, 12})+"2,19,320,29.1\n", fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !hasNote(m, "no_usable_reading") {
		t.Error("no word on injector 2, whose only reading left 1 ms off")
	}
}

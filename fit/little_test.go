package fit_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"injtab/fit"
	"injtab/fit/diag"
	"injtab/fit/sim"
	"injtab/fit/unit"
)

// bench file of ideal injectors, q = 300 ml/min · (t − 0.8 ms), at 300 kPa, 13.5 V
func ideal(injectors []string, pulses []float64) string {
	var b strings.Builder
	b.WriteString("# pressure_kpa = 300\n# voltage_v = 13.5\n# period_ms = 20\n# division_ml = 1\ninjector,pulse_ms,shots,volume_ml\n")
	for i, id := range injectors {
		for _, t := range pulses {
			flow := 300 * (1 + 0.01*float64(i)) / 60000
			q := flow * (t - 0.8)
			if t >= 20 {
				q = flow * 20
			}
			shots := math.Round(80 / q)
			fmt.Fprintf(&b, "%s,%g,%g,%.1f\n", id, t, shots, math.Max(0, q*shots))
		}
	}
	return b.String()
}

func fitCSV(t *testing.T, csv string, o fit.Options) (*fit.Model, error) {
	t.Helper()
	return fit.Injectors(checkedCSV(t, []byte(csv)), o)
}

func TestTwoPulsesGiveALineAndSaySo(t *testing.T) {
	m, err := fitCSV(t, ideal([]string{"1"}, []float64{4, 12}), fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	x := m.Members[0]
	if math.Abs(x.Flow.Value-300) > x.Flow.CI95() || x.Flow.CI95() > 30 || x.Flow.CI95() < 1 {
		t.Errorf("flow %.2f ± %.2f ml/min, want 300 within an honest interval", x.Flow.Value, x.Flow.CI95())
	}
	if math.Abs(x.DeadTime.Value-0.8) > x.DeadTime.CI95() {
		t.Errorf("dead time %.3f ± %.3f ms, want 0.8", x.DeadTime.Value, x.DeadTime.CI95())
	}
	for _, code := range []string{"one_pressure", "one_voltage", "no_short_pulses", "few_readings"} {
		if !hasNote(m, code) {
			t.Errorf("no note %s", code)
		}
	}
}

// TestOnePulseAndHeldOpen: flow from the held-open reading, dead time from what the
// pulse loses.
func TestOnePulseAndHeldOpen(t *testing.T) {
	m, err := fitCSV(t, ideal([]string{"1", "2", "3"}, []float64{5, 20}), fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	x := m.Members[0]
	if math.Abs(x.Flow.Value-300) > x.Flow.CI95() || math.Abs(x.DeadTime.Value-0.8) > x.DeadTime.CI95() {
		t.Errorf("flow %.2f ± %.2f ml/min, dead time %.3f ± %.3f ms; want 300 and 0.8", x.Flow.Value, x.Flow.CI95(), x.DeadTime.Value, x.DeadTime.CI95())
	}
}

func hasNote(m *fit.Model, code string) bool {
	for _, n := range m.Notes {
		if n.Code == code {
			return true
		}
	}
	return false
}

func TestOneConditionSaysNothingOfOthers(t *testing.T) {
	m, err := fitCSV(t, ideal([]string{"1", "2", "3"}, []float64{2, 3, 5, 8, 12}), fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	who := m.Everyone()
	if e := m.Flow(who, unit.KPa(400)); e.Status != diag.NotMeasured {
		t.Errorf("flow at another pressure: %+v, want not measured", e)
	}
	if e := m.DeadTime(who, unit.KPa(300), unit.Volts(11)); e.Status != diag.NotMeasured {
		t.Errorf("dead time at another voltage: %+v, want not measured", e)
	}
	if _, measured := m.Exponent(); measured {
		t.Error("one pressure measured no exponent")
	}
	assumed, err := fitCSV(t, ideal([]string{"1", "2", "3"}, []float64{2, 3, 5, 8, 12}), fit.Options{Assume: true})
	if err != nil {
		t.Fatal(err)
	}
	e := assumed.DeadTime(who, unit.KPa(300), unit.Volts(11))
	own := assumed.DeadTime(who, unit.KPa(300), unit.Volts(13.5))
	if e.Basis != diag.Assumed || !e.Status.HasValue() || e.Value <= own.Value || e.CI95() < 3*own.CI95() {
		t.Errorf("assumed dead time at 11 V %.3f ± %.3f ms beside %.3f ± %.3f at 13.5 V: want more, and far less sure", e.Value, e.CI95(), own.Value, own.CI95())
	}
}

func TestNoFitIsASentence(t *testing.T) {
	open := "# pressure_kpa = 300\n# voltage_v = 13.5\n# period_ms = 20\ninjector,pulse_ms,shots,volume_ml\n1,20,500,50\n2,20,500,51\n"
	dead := "# pressure_kpa = 300\n# voltage_v = 13.5\n# period_ms = 20\ninjector,pulse_ms,shots,volume_ml\n1,5,500,0\n1,10,500,0\n2,5,500,0\n2,10,500,0\n"
	for name, c := range map[string]struct{ csv, want string }{
		"one pulse":      {ideal([]string{"1", "2"}, []float64{5}), "add a second pulse width"},
		"only held open": {open, "add at least two pulse widths"},
		"all dead":       {dead, "no sound injector"},
	} {
		_, err := fitCSV(t, c.csv, fit.Options{})
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.HasPrefix(err.Error(), "session.csv: ") {
			t.Errorf("%s: %v, want a sentence with %q after the file's name", name, err, c.want)
		}
	}
}

// TestNearOpening: where a needle hardly lifts, no plausible number is given.
func TestNearOpening(t *testing.T) {
	s := sim.Mapped(sim.ByName("D"), 21)
	m := fitted(t, checkedSession(t, s))
	member := s.Units[m.Members[0].ID]
	opens := member.OpensAt(unit.KPa(450)).V()
	who := fit.Who{0}
	if e := m.DeadTime(who, unit.KPa(450), unit.Volts(0.8*opens)); e.Status != diag.DoesNotOpen {
		t.Errorf("at 0.8 of the opening voltage %.2f V: %+v, want does not open", opens, e)
	}
	if e := m.Delivered(who, unit.Ms(8), unit.KPa(450), unit.Volts(0.8*opens)); e.Status != diag.DoesNotOpen || e.Value > 0 {
		t.Errorf("delivered where it does not open: %+v", e)
	}
	far := m.DeadTime(who, unit.KPa(450), unit.Volts(9))
	near := m.DeadTime(who, unit.KPa(450), unit.Volts(13))
	if far.Status == diag.OK && far.CI95() < 2*near.CI95() {
		t.Errorf("at 9 V ± %.3f ms, at 13 V ± %.3f ms: extrapolation towards the opening voltage must be far less sure", far.CI95(), near.CI95())
	}
}

// TestSilentReadingsBoundTheOpening: a long pulse that delivered nothing says that
// the injector does not open there; without one the session can't tell.
func TestSilentReadingsBoundTheOpening(t *testing.T) {
	csv := ideal([]string{"1", "2"}, []float64{2, 3, 5, 8, 12})
	m, err := fitCSV(t, csv, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if v, ok := m.LowestOpening(0); ok {
		t.Errorf("every pulse delivered, yet the lowest opening voltage is %.1f V", v)
	}
	low := strings.Replace(csv, "# voltage_v = 13.5\n", "", 1)
	low = strings.Replace(low, "injector,pulse_ms,shots,volume_ml\n", "injector,pulse_ms,shots,volume_ml,voltage_v\n", 1)
	lines := strings.Split(strings.TrimSpace(low), "\n")
	for i := 4; i < len(lines); i++ {
		lines[i] += ",13.5"
	}
	lines = append(lines, "1,8,500,0,6")
	if m, err = fitCSV(t, strings.Join(lines, "\n")+"\n", fit.Options{}); err != nil {
		t.Fatal(err)
	}
	if v, ok := m.LowestOpening(0); !ok || math.Abs(v-6) > 1e-9 {
		t.Errorf("lowest opening voltage %.1f V, told %v; want 6 V", v, ok)
	}
}

// TestSlotBias: a slot that reads low shows as a pattern or is taken out, with its
// size, when injectors moved between slots.
func TestSlotBias(t *testing.T) {
	var b strings.Builder
	b.WriteString("# pressure_kpa = 300\n# voltage_v = 13.5\n# period_ms = 20\n# division_ml = 0.5\nrun,slot,injector,pulse_ms,shots,volume_ml\n")
	run := 0
	for _, pulse := range []float64{2, 3, 5, 8, 12} {
		for turn := range 4 {
			run++
			for slot := range 4 {
				flow := 300 * (1 + 0.02*float64((slot+turn)%4)) / 60000
				if slot == 2 {
					flow *= 0.979
				}
				shots := math.Round(80 / (flow * (pulse - 0.8)))
				fmt.Fprintf(&b, "%d,%d,%d,%g,%g,%.1f\n", run, slot+1, (slot+turn)%4+1, pulse, shots, shots*flow*(pulse-0.8))
			}
		}
	}
	m, err := fitCSV(t, b.String(), fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range m.Effects {
		if e.Kind == "slot" && e.Name == "3" {
			// −2.1 % from the other slots, −1.6 % from the mean of all.
			if e.Pct < -2.3 || e.Pct > -1.4 {
				t.Errorf("slot 3 is %.2f %% ± %.2f, want −1.6 to −2.1", e.Pct, e.UPct)
			}
			return
		}
	}
	t.Errorf("no effect of slot 3 among %+v", m.Effects)
}

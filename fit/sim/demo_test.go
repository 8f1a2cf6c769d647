package sim

import (
	"bytes"
	"maps"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"injtab/fit/unit"
)

func TestDemoFileIsWhatDemoWrites(t *testing.T) {
	if !bytes.Equal(DemoCSV(), Demo().CSV) {
		t.Error("demo/bench.csv is not what Demo writes: run go generate ./fit/sim")
	}
	DemoCSV()[0] = 'x'
	if DemoCSV()[0] == 'x' {
		t.Error("a caller can change the embedded file")
	}
}

func TestDemoHasOneMistake(t *testing.T) {
	gross := Demo().GrossRows()
	if len(gross) != 1 || gross[0].Gross != Digit || Demo().Troubles[gross[0].Injector] != None {
		t.Errorf("gross rows %+v, want one mistyped digit of a sound injector", gross)
	}
}

// The demonstration must be enough for every table.
func TestDemoCoversEveryTable(t *testing.T) {
	var static, leak, pulsed, brief []Row
	for _, r := range Demo().Rows {
		switch {
		case r.Point.leak():
			leak = append(leak, r)
		case r.Point.static():
			static = append(static, r)
		default:
			pulsed = append(pulsed, r)
			if r.Point.Pulse < unit.Ms(2) && r.Volume > 0 {
				brief = append(brief, r)
			}
		}
	}
	byInjector := func(r Row) string { return r.Injector }
	byVoltage := func(r Row) string { return short(r.Point.Voltage.V()) }
	byPressure := func(r Row) string { return short(r.Point.Pressure.KPa()) }
	atLeast(t, "injectors", pulsed, byInjector, 11)
	atLeast(t, "voltages", pulsed, byVoltage, 3)
	atLeast(t, "pressures", pulsed, byPressure, 3)
	atLeast(t, "voltages with short pulses", brief, byVoltage, 2)
	atLeast(t, "injectors with a leak test", leak, byInjector, 11)
	atLeast(t, "pressures with static flow", static, byPressure, 3)
	within(t, "rows", float64(len(static)+len(leak)+len(pulsed)), 150, 450)
}

func atLeast(t *testing.T, what string, rows []Row, key func(Row) string, want int) {
	t.Helper()
	seen := map[string]bool{}
	for _, r := range rows {
		seen[key(r)] = true
	}
	if len(seen) < want {
		t.Errorf("%s: %d, want at least %d", what, len(seen), want)
	}
}

func TestDemoRepeatsEveryInjector(t *testing.T) {
	times := map[string]int{}
	for _, r := range Demo().Rows {
		if short(r.Point.Pulse.Ms()) == "7" {
			times[r.Injector]++
		}
	}
	for id, n := range times {
		if n < 2 {
			t.Errorf("%s ran %d times at 7 ms, want repeats", id, n)
		}
	}
}

func TestDemoHasFourBadInjectors(t *testing.T) {
	got := slices.Sorted(maps.Values(Demo().Troubles))
	if diff := cmp.Diff([]Trouble{Dead, Leaking, Outlier, Erratic}, got); diff != "" {
		t.Error(diff)
	}
}

// An engine of 185 kW at 5200 rpm that burns 304 g/kWh of petrol (0.5 lb/hph, common
// practice, no source) at 745 kg/m³, six cylinders once in 720 degrees.
func TestDemoInjectorsFitTheirEngine(t *testing.T) {
	const perShot = 185 * 304.0 / 60 / 6 / (5200 / 2) // g
	q := unit.Grams(perShot).Of(745)
	u := ByName("B").Nominal()
	flow := u.StaticFlow(unit.KPa(300)).MlMin() * 0.958046 // heptane to petrol by density
	period := 120.0 / 5200 * 1e3
	pulse := q.Ml()/flow*60e3 + u.Truth().DeadTime(unit.KPa(300), 13.5).Ms()
	within(t, "duty at full power", pulse/period, 0.70, 0.80)
}

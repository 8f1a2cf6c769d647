package unit_test

import (
	"math"
	"strings"
	"testing"

	"injtab/fit/unit"
)

// near compares to nine significant digits.
func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-9*math.Abs(want) {
		t.Errorf("%s: %.12g, want %.12g", what, got, want)
	}
}

// TestDefinitions compares the factors with the figures that NIST Special
// Publication 811 (2008), appendix B, gives for them (from memory, cross-checked in
// several unit libraries); the pound and the inch are exact by definition.
func TestDefinitions(t *testing.T) {
	near(t, "psi, Pa", float64(unit.Pressures.In(1, "psi")), 6894.757293168)
	near(t, "bar, Pa", float64(unit.Pressures.In(1, "bar")), 1e5)
	near(t, "mbar, Pa", float64(unit.Pressures.In(1, "mbar")), 100)
	near(t, "lb, kg", float64(unit.Masses.In(1, "lb")), 0.45359237)
	near(t, "mechanical horsepower, W", float64(unit.Powers.In(1, "hp")), 745.6998715823)
	near(t, "metric horsepower, W", float64(unit.Powers.In(1, "ps")), 735.49875)
	near(t, "ft, m", float64(unit.Lengths.In(1, "ft")), 0.3048)
	near(t, "32 °F, K", float64(unit.Temperatures.In(32, "F")), 273.15)
	near(t, "212 °F, K", float64(unit.Temperatures.In(212, "F")), 373.15)
	near(t, "20 °C, K", float64(unit.Temperatures.In(20, "C")), 293.15)
	near(t, "min, s", float64(unit.Times.In(1, "min")), 60)
	near(t, "l/h, m³/s", float64(unit.VolumeFlows.In(1, "l/h")), 1e-3/3600)
	near(t, "cc, m³", float64(unit.Volumes.In(1, "cc")), 1e-6)
}

// TestHandbookConversions checks products of factors against printed ones.
func TestHandbookConversions(t *testing.T) {
	// 1 lb/h = 7.559872833 g/min, exact by the definition of the pound.
	near(t, "lb/h, g/min", unit.MassFlows.In(1, "lb/h").GMin(), 0.45359237*1000/60)
	if got := unit.MassFlows.In(1, "lb/h").GMin(); math.Abs(got-7.559872833) > 1e-9 {
		t.Errorf("1 lb/h is %.10f g/min, want 7.559872833", got)
	}
	// 1 lb/(hp·h) = 608.277 g/kWh (encyclopaedia article on brake-specific fuel
	// consumption).
	if got := unit.Consumptions.As(unit.Consumptions.In(1, "lb/hph"), "g/kWh"); math.Abs(got-608.277) > 5e-4 {
		t.Errorf("1 lb/hph is %.4f g/kWh, want 608.277", got)
	}
	// 43.5 psi = 299.922 kPa, calculated from the definitions.
	if got := unit.Pressures.In(43.5, "psi").KPa(); math.Abs(got-299.922) > 5e-4 {
		t.Errorf("43.5 psi is %.4f kPa, want 299.922", got)
	}
	// The trade's 10.5 cc/min for 1 lb/h is a density of 0.719988 kg/l.
	d := unit.Densities.In(0.719988, "kg/l")
	if got := float64(unit.MassFlows.In(1, "lb/h")) / float64(d) * 60e6; math.Abs(got-10.5) > 1e-4 {
		t.Errorf("1 lb/h at 0.719988 kg/l is %.5f cc/min, want 10.5", got)
	}
}

// TestThereAndBack: every unit of every kind gives back what it was given.
func TestThereAndBack(t *testing.T) {
	both(t, unit.Times)
	both(t, unit.Pressures)
	both(t, unit.Volumes)
	both(t, unit.Masses)
	both(t, unit.Densities)
	both(t, unit.Temperatures)
	both(t, unit.VolumeFlows)
	both(t, unit.MassFlows)
	both(t, unit.Powers)
	both(t, unit.Consumptions)
	both(t, unit.Heats)
	both(t, unit.Lengths)
}

func both[Q ~float64](t *testing.T, k unit.Kind[Q]) {
	t.Helper()
	for _, u := range k.Units {
		for _, x := range []float64{0.5, 3, 43.5, 1998} {
			if got := k.As(k.In(x, u.Symbol), u.Symbol); math.Abs(got-x) > 1e-12*x+1e-9*math.Abs(u.Offset) {
				t.Errorf("%s: %g %s comes back as %g", k.Name, x, u.Symbol, got)
			}
		}
		if u.Suffix != "" {
			if _, ok := k.BySuffix(strings.ToUpper(u.Suffix)); !ok {
				t.Errorf("%s: the suffix %s is not found", k.Name, u.Suffix)
			}
		}
	}
}

func TestParse(t *testing.T) {
	good := map[string]float64{
		"43.5psi": 43.5 * 6894.757293168, "3bar": 3e5, " 300 kPa ": 3e5, "3e2kPa": 3e5, "1E+2kpa": 1e5, "+5kPa": 5e3,
	}
	for text, want := range good {
		p, err := unit.Pressures.Parse(text)
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		near(t, text, float64(p), want)
	}
	for text, want := range map[string]string{
		"3": "has no unit", "bar": "write a number", "": "write a number", "3 volts": "not a unit",
		"nanbar": "write a number", "infbar": "write a number", "1_000bar": "not a unit", "0x1p3bar": "not a unit",
		"3,5bar": "decimal point", "1e999bar": "not a finite number", "1.2.3bar": "not a", "--3bar": "not a",
	} {
		if p, err := unit.Pressures.Parse(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: got %v, %v; want a sentence with %q", text, p, err, want)
		}
	}
}

func TestParseRatio(t *testing.T) {
	for text, want := range map[string]float64{"80%": 0.8, "0.8": 0.8, " 2 % ": 0.02} {
		if r, err := unit.ParseRatio(text); err != nil || math.Abs(float64(r)-want) > 1e-12 {
			t.Errorf("%q: %v, %v; want %v", text, r, err, want)
		}
	}
	if _, err := unit.ParseRatio("nan"); err == nil {
		t.Error("nan was taken for a ratio")
	}
}

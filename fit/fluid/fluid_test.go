package fluid

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"injtab/fit/unit"
)

// near fails unless got is within rel of want.
func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if math.Abs(got-want) > rel*math.Abs(want) {
		t.Errorf("%s = %.9g, want %.9g ± %g %%", what, got, want, 100*rel)
	}
}

func lookup(t *testing.T, name string) Fluid {
	t.Helper()
	f, err := Lookup(name)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// stoich is the mass of air that burns a mass of CcHhOo completely, with 3.773
// mol of other gases of 28.16 g/mol to each mol of oxygen (MIT OpenCourseWare
// 2.61, Spring 2017, resource page).
func stoich(c, h, o float64) float64 {
	return (c + h/4 - o/2) * (31.999 + 3.773*28.16) / (12.011*c + 1.008*h + 15.999*o)
}

func TestStoichFromChemistry(t *testing.T) {
	for _, c := range []struct {
		name    string
		c, h, o float64
		rel     float64
	}{
		{"gasoline", 1, 1.87, 0, 0.01}, // CH1.87 gives 14.60; the trade and DOE use 14.7
		{"ethanol", 2, 6, 1, 0.001},
		{"methanol", 1, 4, 1, 0.001},
		{"isooctane", 8, 18, 0, 0.001},
		{"n-heptane", 7, 16, 0, 0.001},
	} {
		near(t, "stoich of "+c.name, lookup(t, c.name).Stoich, stoich(c.c, c.h, c.o), c.rel)
	}
}

// Heating values from enthalpies of formation in kJ/mol (CO2 -393.51, water
// vapour -241.83, the liquids as below; NIST Chemistry WebBook, from memory).
func TestHeatFromFormation(t *testing.T) {
	for _, c := range []struct {
		name               string
		c, h, o, formation float64
	}{
		{"ethanol", 2, 6, 1, -277.6},
		{"methanol", 1, 4, 1, -238.7},
		{"isooctane", 8, 18, 0, -259.3},
		{"n-heptane", 7, 16, 0, -224.4},
	} {
		molar := 12.011*c.c + 1.008*c.h + 15.999*c.o
		want := (c.c*393.51 + c.h/2*241.83 + c.formation) / molar
		near(t, "heating value of "+c.name, unit.Heats.As(lookup(t, c.name).Heat, "MJ/kg"), want, 0.01)
	}
}

// Second sources: DOE Alternative Fuels Data Center, Properties of Fuels (ethanol
// 792, methanol 794 kg/m3); EN 228:2012 (gasoline 720 to 775 kg/m3 at 15 °C).
func TestDensity(t *testing.T) {
	near(t, "ethanol", lookup(t, "ethanol").Density.KgM3(), 792, 0.005)
	near(t, "methanol", lookup(t, "methanol").Density.KgM3(), 794, 0.005)
	if d := lookup(t, "gasoline").At(unit.Celsius(15)); d < 720 || d > 775 {
		t.Errorf("gasoline at 15 °C = %g kg/m3, outside EN 228", d)
	}
	// The table of DOE's Hydrogen Analysis Resource Center in kg/m3.
	near(t, "gasoline", lookup(t, "gasoline").Density.KgM3(), 744.70, 1e-5)
	near(t, "ethanol", lookup(t, "ethanol").Density.KgM3(), 789.35, 1e-5)
	near(t, "methanol", lookup(t, "methanol").Density.KgM3(), 794.10, 1e-5)
	// n-heptane at 20 °C, from memory.
	near(t, "n-heptane at 20 C", lookup(t, "n-heptane").At(unit.Celsius(20)).KgM3(), 683.8, 1e-4)
}

// Serway and Vuille, College Physics, chapter 10: gasoline of 730 kg/m3 at 0 °C
// with 9.60e-4 /K; answers computed.
func TestThermalExpansion(t *testing.T) {
	f := Fluid{Density: 730, RefTemp: unit.Celsius(0), Expansion: 9.60e-4}
	near(t, "density at 20 C", f.At(unit.Celsius(20)).KgM3(), 716.248, 1e-6)
	near(t, "mass of 38 l at 0 C", 0.0380*730, 27.74, 1e-5)
	near(t, "mass of 38 l at 20 C", 0.0380*f.At(unit.Celsius(20)).KgM3(), 27.2174, 1e-5)
}

// E85 from 9.0 at 792.053 and 14.7 at 744.841 kg/m3 with 26.9467 and 43.4404
// MJ/kg, computed by the blend rule with pencil and paper.
func TestBlendRule(t *testing.T) {
	base := Fluid{Density: 744.841, Stoich: 14.7, Heat: 43.4404e6, Viscosity: 1}
	spirit := Fluid{Density: 792.053, Stoich: 9.0, Heat: 26.9467e6, Viscosity: 1}
	f := blend("E85", base, spirit, 0.85)
	near(t, "density", f.Density.KgM3(), 784.971, 1e-6)
	near(t, "ratio", f.Stoich, 9.81129, 1e-6)
	near(t, "heat", unit.Heats.As(f.Heat, "MJ/kg"), 29.2944, 1e-5)
}

// California Energy Commission, gasoline gallon equivalents: E85 81,700 Btu/gal,
// from 76,330 and 111,800; a volume blend of heats per volume is the same rule.
func TestBlendHeatPerVolume(t *testing.T) {
	e85 := lookup(t, "E85")
	got := float64(e85.Heat) * float64(e85.Density)
	want := 0.85*float64(ethanol.Heat)*float64(ethanol.Density) + 0.15*float64(gasoline.Heat)*float64(gasoline.Density)
	near(t, "heat per volume", got, want, 1e-12)
	near(t, "printed sum", 0.85*76330+0.15*111800, 81700, 1e-3)
}

func TestLookup(t *testing.T) {
	for in, want := range map[string]string{
		"Gasoline": "gasoline", "petrol": "gasoline", "e85": "E85", "E60": "E60", "m50": "M50",
		"N-Heptane": "n-heptane", "heptane": "n-heptane", "iso-octane": "isooctane",
		"Mineral_Spirits": "mineral spirits", "white spirit": "mineral spirits",
		"calibration-oil": "calibration oil", "E100": "ethanol", "M0": "gasoline", "e 10": "E10",
	} {
		if f := lookup(t, in); f.Name != want {
			t.Errorf("Lookup(%q) is %q, want %q", in, f.Name, want)
		}
	}
	for _, bad := range []string{"", "diesel", "E", "E101", "M-5x", "Eten", "e1e9", "Enan"} {
		if f, err := Lookup(bad); err == nil {
			t.Errorf("Lookup(%q) gives %s", bad, f.Name)
		}
	}
	_, err := Lookup("diesel")
	if !strings.Contains(err.Error(), "mineral spirits") {
		t.Errorf("error %q does not list what is known", err)
	}
}

func TestEveryFluidIsComplete(t *testing.T) {
	for _, f := range All() {
		if f.Name == "" || f.Title == "" || f.Source == "" || f.Density <= 0 || f.RefTemp <= 0 || f.Expansion <= 0 || f.Viscosity <= 0 {
			t.Errorf("%+v lacks a figure", f)
		}
		if (f.Stoich > 0) != (f.Heat > 0) {
			t.Errorf("%s has a ratio without a heating value or the reverse", f.Name)
		}
	}
}

func TestCustom(t *testing.T) {
	f, err := Custom(771.5)
	if err != nil || f.At(unit.Celsius(35)) != 771.5 {
		t.Errorf("Custom(771.5) = %v, %v", f, err)
	}
	for _, bad := range []float64{0, -1, 0.745, 745000, math.NaN(), math.Inf(1)} {
		if _, err := Custom(unit.Density(bad)); err == nil {
			t.Errorf("Custom(%g) is taken", bad)
		}
	}
}

// From 683.8 to 745 kg/m3, computed: volume ×0.958046, mass ×1.043791.
func TestConversion(t *testing.T) {
	near(t, "volume", VolumeFactor(683.8, 745), 0.958046, 1e-6)
	near(t, "mass", MassFactor(683.8, 745), 1.043791, 1e-6)
	near(t, "mass over volume", MassFactor(683.8, 745)/VolumeFactor(683.8, 745), 745/683.8, 1e-12)
	// 550 cm3/min at 0.72 kg/l is 396 g/min.
	near(t, "mass flow", MassFlow(unit.MlMin(550), 720).GMin(), 396, 1e-12)
	near(t, "volume flow", VolumeFlow(MassFlow(unit.MlMin(550), 720), 720).MlMin(), 550, 1e-12)
}

func TestConversionThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := unit.Density(rapid.Float64Range(550, 1300).Draw(t, "a"))
		b := unit.Density(rapid.Float64Range(550, 1300).Draw(t, "b"))
		if r := VolumeFactor(a, b) * VolumeFactor(b, a); math.Abs(r-1) > 1e-12 {
			t.Errorf("there and back gives %g", r)
		}
	})
}

func TestBlendsLieBetweenTheirParts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(0, 1).Draw(t, "share")
		f, err := Blend(ethanol, unit.Ratio(x))
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range [][3]float64{
			{float64(gasoline.Density), float64(f.Density), float64(ethanol.Density)},
			{ethanol.Stoich, f.Stoich, gasoline.Stoich},
			{float64(ethanol.Heat), float64(f.Heat), float64(gasoline.Heat)},
			{gasoline.Viscosity, f.Viscosity, ethanol.Viscosity},
		} {
			if c[1] < c[0]*(1-1e-12) || c[1] > c[2]*(1+1e-12) {
				t.Errorf("share %g: %g is not between %g and %g", x, c[1], c[0], c[2])
			}
		}
	})
}

func TestViscosityCaveat(t *testing.T) {
	if s := ViscosityCaveat(lookup(t, "calibration oil"), lookup(t, "gasoline")); !strings.Contains(s, "not justified") {
		t.Errorf("no caveat between calibration oil and gasoline: %q", s)
	}
	for _, pair := range [][2]string{{"n-heptane", "gasoline"}, {"mineral spirits", "gasoline"}, {"E85", "n-heptane"}, {"ethanol", "ethanol"}} {
		if s := ViscosityCaveat(lookup(t, pair[0]), lookup(t, pair[1])); s != "" {
			t.Errorf("%v: %s", pair, s)
		}
	}
	plain, _ := Custom(780)
	if s := ViscosityCaveat(plain, lookup(t, "gasoline")); !strings.Contains(s, "780 kg/m³ is not known") {
		t.Errorf("caveat for an unknown viscosity: %q", s)
	}
}

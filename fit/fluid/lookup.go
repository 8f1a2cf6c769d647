package fluid

import (
	"fmt"
	"math"
	"strings"

	"injtab/fit/unit"
)

// aliases are other common names, in the form that plain gives.
var aliases = map[string]string{
	"petrol": "gasoline", "e0": "gasoline", "m0": "gasoline", "e100": "ethanol", "m100": "methanol",
	"heptane": "n-heptane", "whitespirit": "mineral spirits", "whitespirits": "mineral spirits",
	"mineralspirit": "mineral spirits",
}

// Lookup finds a fluid by name, or blends one: E60 is 60 % ethanol by volume in
// gasoline, M50 is 50 % methanol. Case, spaces and hyphens are ignored. The error
// is a sentence that lists what is known.
func Lookup(name string) (Fluid, error) {
	key := plain(name)
	if other, ok := aliases[key]; ok {
		key = plain(other)
	}
	for _, f := range All() {
		if plain(f.Name) == key {
			return f, nil
		}
	}
	if key != "" {
		if alcohol, ok := map[byte]Fluid{'e': ethanol, 'm': methanol}[key[0]]; ok {
			if pct, err := unit.Number(key[1:]); err == nil {
				return Blend(alcohol, unit.Ratio(pct/100))
			}
		}
	}
	return Fluid{}, fmt.Errorf("fluid %q is not known: use one of %s, a blend such as E60 or M50 (per cent alcohol by volume), or give its density", name, known())
}

func plain(name string) string {
	return strings.NewReplacer(" ", "", "-", "", "_", "").Replace(strings.ToLower(name))
}

func known() string {
	var names []string
	for _, f := range All() {
		names = append(names, f.Name)
	}
	return strings.Join(names, ", ")
}

// Blend mixes a share of alcohol, by volume, into gasoline. With x the volume
// fraction and w = x·ρ_a / (x·ρ_a + (1−x)·ρ_g) the mass fraction of alcohol,
// density and expansion are linear in x, the stoichiometric ratio and the heating
// value linear in w; the ratio is exact (air adds up), the density leaves out the
// small change of volume on mixing.
func Blend(alcohol Fluid, share unit.Ratio) (Fluid, error) {
	if !(share >= 0 && share <= 1) {
		return Fluid{}, fmt.Errorf("a blend of %g %% %s is not possible: give a share of alcohol from 0 to 100 %% by volume", share.Pct(), alcohol.Name)
	}
	if share <= 0 {
		return gasoline, nil
	}
	letter := "E"
	if alcohol.Name == methanol.Name {
		letter = "M"
	}
	return blend(fmt.Sprintf("%s%.6g", letter, share.Pct()), gasoline, alcohol, float64(share)), nil
}

func blend(name string, base, alcohol Fluid, x float64) Fluid {
	volume := func(g, a float64) float64 { return (1-x)*g + x*a }
	w := x * float64(alcohol.Density) / volume(float64(base.Density), float64(alcohol.Density))
	mass := func(g, a float64) float64 { return (1-w)*g + w*a }
	f := Fluid{
		Name:      name,
		Title:     fmt.Sprintf("Gasoline with %.6g %% %s by volume", 100*x, alcohol.Name),
		Density:   unit.Density(volume(float64(base.Density), float64(alcohol.Density))),
		RefTemp:   base.RefTemp,
		Expansion: volume(base.Expansion, alcohol.Expansion),
		Stoich:    mass(base.Stoich, alcohol.Stoich),
		Heat:      unit.Heat(mass(float64(base.Heat), float64(alcohol.Heat))),
		// Logarithms of viscosity mix about linearly; a rough figure is enough here.
		Viscosity:     math.Exp(volume(math.Log(base.Viscosity), math.Log(alcohol.Viscosity))),
		ViscosityTemp: base.ViscosityTemp,
		Source:        mix + "; " + base.Source,
	}
	if alcohol.Name == ethanol.Name && x > 0.5 {
		f.Note = "fuel sold as E85 holds 51 to 83 % ethanol by season (ASTM D5798, as quoted): test yours and name the blend, such as E70"
	}
	return f
}

// Custom is a fluid of which only the density is known, at the temperature it is
// used at. It refuses a density that no bench fluid has.
func Custom(density unit.Density) (Fluid, error) {
	if !(density >= 550 && density <= 1300) {
		return Fluid{}, fmt.Errorf("a density of %.6g kg/m³ does not fit a bench fluid or fuel: expected 550 to 1300 kg/m³ (water has 998, gasoline about 745)", density.KgM3())
	}
	return Fluid{
		Name:    fmt.Sprintf("%.6g kg/m³", density.KgM3()),
		Title:   fmt.Sprintf("Fluid of %.6g kg/m³", density.KgM3()),
		Density: density,
		Source:  "density as given",
	}, nil
}

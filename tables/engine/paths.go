package engine

import (
	"fmt"
	"strings"

	"injtab/fit/diag"
	"injtab/fit/unit"
)

// A Disagreement is two ways to the fuel whose ranges don't meet, with what each
// input would have to be, alone, to bring them together.
type Disagreement struct {
	AirOverPower float64   `json:"air_over_power"` // fuel by air ÷ fuel by power
	Suspects     []Suspect `json:"suspects"`
}

// A Suspect is an input that may be wrong.
type Suspect struct {
	Input     string  `json:"input"`
	Unit      string  `json:"unit"`
	Given     float64 `json:"given"`
	WouldBe   float64 `json:"would_be"`
	Plausible bool    `json:"plausible"` // the other figure is one that engines have
}

// comparePaths puts the two ways side by side and explains a disagreement.
func (r *SizeResult) comparePaths(f *filled) {
	if given(f.crank) {
		r.Paths = append(r.Paths, f.powerPath())
	}
	if f.hasAir {
		r.Paths = append(r.Paths, f.airPath())
	}
	if len(r.Paths) < 2 {
		return
	}
	p, a := r.Paths[0], r.Paths[1]
	if a.HighFuelMass >= p.LowFuelMass && a.LowFuelMass <= p.HighFuelMass {
		return
	}
	d := Disagreement{AirOverPower: a.FuelMass / p.FuelMass}
	d.Suspects = f.suspects(d.AirOverPower)
	r.Disagreement = &d
	r.notes = append(r.notes, diag.Warn("paths_disagree", "%s", d.sentence(r)))
}

func (f *filled) powerPath() Path {
	fuel := f.fuelByPower()
	air := AirFromFuel(fuel.mid, f.Lambda, f.Fuel.Stoich)
	p := f.path("power", fuel)
	p.Power, p.Air = f.crank.KW(), unit.MassFlows.As(air, "g/s")
	if f.hasAir {
		p.VE = VolumetricEfficiency(air, f.Displacement, f.RPM, f.manifold, f.ChargeTemp).Pct()
	}
	return p
}

func (f *filled) airPath() Path {
	fuel := f.fuelByAir()
	p := f.path("air", fuel)
	p.Power = PowerFromFuel(fuel.mid, f.BSFC).KW()
	p.Air, p.VE = unit.MassFlows.As(f.air(f.VE), "g/s"), f.VE.Pct()
	return p
}

func (f *filled) path(name string, fuel fuelFlow) Path {
	// The window was long enough for the deciding path, so it is for this one.
	flow, _ := f.labelled(f.sets[0], fuel.mid)
	return Path{
		Name: name, FuelMass: fuel.mid.GMin(), LowFuelMass: fuel.low.GMin(), HighFuelMass: fuel.high.GMin(),
		InjectorFlow: flow, BSFC: gkWh(f.BSFC),
	}
}

// suspects lists what each input would have to be, alone, so that air and power
// ask for the same fuel; k is fuel by air ÷ fuel by power.
func (f *filled) suspects(k float64) []Suspect {
	eta := BrakeEfficiency(f.BSFC*unit.Consumption(k), f.Fuel.Heat)
	charge := f.ChargeTemp * unit.Temperature(k)
	boost := (f.manifold/unit.Pressure(k) - f.ambient).KPa()
	absolute := f.Boost.KPa() - f.ambient.KPa() // boost, had an absolute pressure been typed
	between := func(x, lo, hi float64) bool { return x >= lo && x <= hi }
	power := unit.Powers.As(f.crank, "kW")
	litres := unit.Volumes.As(f.Displacement, "l")
	return []Suspect{
		{"power", "kW", power, power * k, between(k, 0.5, 2)},
		{"bsfc", "g/kWh", gkWh(f.BSFC), gkWh(f.BSFC) * k, eta >= 0.18 && eta <= goodEfficiency},
		{"ve", "%", f.VE.Pct(), f.VE.Pct() / k, between(f.VE.Pct()/k, 60, 110)},
		{"lambda", "", f.Lambda, f.Lambda * k, between(f.Lambda*k, 0.7, 1.05)},
		{"boost", "kPa", f.Boost.KPa(), boost, f.Boost > 0 && (between(boost-f.Boost.KPa(), -40, 40) || between(boost-absolute, -20, 20))},
		{"charge_temp", "C", f.ChargeTemp.C(), charge.C(), between(charge.C(), -10, 130)},
		{"displacement", "L", litres, litres / k, between(k, 0.9, 1.1)},
		{"rpm", "1/min", f.RPM, f.RPM / k, between(k, 0.8, 1.25)},
	}
}

// sentence explains the disagreement: how large it is, and which single input
// would settle it.
func (d Disagreement) sentence(r *SizeResult) string {
	var likely, unlikely []string
	for _, s := range d.Suspects {
		text := fmt.Sprintf("%s %s instead of %s", s.Input, withUnit(s.WouldBe, s.Unit), withUnit(s.Given, s.Unit))
		if s.Plausible {
			likely = append(likely, text)
		} else {
			unlikely = append(unlikely, s.Input)
		}
	}
	more, percent := "more", 100*(d.AirOverPower-1)
	if d.AirOverPower < 1 {
		more, percent = "less", -percent
	}
	out := fmt.Sprintf("The air that the engine breathes asks for %.0f %% %s fuel than power times consumption (%.4g against %.4g g/min), beyond the ranges of both: an input is wrong.",
		percent, more, r.Paths[1].FuelMass, r.Paths[0].FuelMass)
	if len(likely) > 0 {
		out += " Any one of these would settle it: " + strings.Join(likely, "; ") + "."
	} else {
		out += " No single input settles it with a figure that engines have: check all of them, starting with their units."
	}
	if len(likely) > 0 && len(unlikely) > 0 {
		out += " Not alone to blame: " + strings.Join(unlikely, ", ") + "."
	}
	if i := d.boost(); i.Plausible && i.Given-i.WouldBe > 80 {
		out += fmt.Sprintf(" The boost of %s looks like an absolute pressure: it counts from the surrounding air.", withUnit(i.Given, i.Unit))
	}
	return out
}

func (d Disagreement) boost() Suspect {
	for _, s := range d.Suspects {
		if s.Input == "boost" {
			return s
		}
	}
	return Suspect{}
}

func withUnit(x float64, unit string) string {
	if unit == "" || unit == "%" {
		return fmt.Sprintf("%.3g%s", x, unit)
	}
	return fmt.Sprintf("%.4g %s", x, unit)
}

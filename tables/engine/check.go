package engine

import (
	"errors"
	"fmt"
)

// Brake efficiencies at full load: outside the first two a figure is in the wrong
// unit, above the third it deserves a remark. Common practice, no source.
const (
	worstEfficiency = 0.10
	bestEfficiency  = 0.50
	goodEfficiency  = 0.38
)

// check looks at each input by itself and at those that must fit together; the
// error lists all that is wrong, a sentence each.
func check(in Inputs) error {
	var wrong []error
	for _, f := range fields {
		if err := f.check(in); err != nil {
			wrong = append(wrong, fmt.Errorf("%s: %w", f.Key, err))
		}
	}
	if len(wrong) == 0 {
		wrong = append(wrong, missing(in), mixture(in), ranges(in), arrangement(in))
	}
	return errors.Join(wrong...)
}

func missing(in Inputs) error {
	switch {
	case in.Cylinders == 0:
		return fmt.Errorf("cylinders: the number of cylinders is needed")
	case given(in.Power):
		return nil
	case !given(in.Displacement):
		return fmt.Errorf("power: the power wanted is needed, or displacement and rpm to work from the air that the engine breathes")
	case !given(in.RPM):
		return fmt.Errorf("rpm: the speed is needed to work from the air that the engine breathes")
	}
	return nil
}

func mixture(in Inputs) error {
	fuel := in.Fuel
	if fuel.Name == "" {
		fuel = gasoline
	}
	switch {
	case !fuel.Fuel():
		return fmt.Errorf("fuel: %s is a bench fluid, no engine fuel: name the fuel that the engine burns", fuel.Name)
	case in.BSFCFuel.Name != "" && !in.BSFCFuel.Fuel():
		return fmt.Errorf("bsfc_fuel: %s is a bench fluid, no engine fuel", in.BSFCFuel.Name)
	case given(in.Lambda) && given(in.AFR):
		return fmt.Errorf("afr: both lambda and afr are given: give one of them")
	case given(in.AFR):
		if err := lambdaLimits.check(in.AFR/fuel.Stoich, ""); err != nil {
			return fmt.Errorf("afr: %.4g would be lambda %.3g in %s, whose ratio at lambda 1 is %.4g: a ratio on the gasoline scale may have been given for another fuel", in.AFR, in.AFR/fuel.Stoich, fuel.Name, fuel.Stoich)
		}
	}
	if !given(in.BSFC) {
		return nil
	}
	if in.BSFCFuel.Name != "" {
		fuel = in.BSFCFuel
	}
	eta := BrakeEfficiency(in.BSFC, fuel.Heat)
	if eta > bestEfficiency || eta < worstEfficiency {
		return fmt.Errorf("bsfc: %s of %s would turn %.0f %% of the fuel's heat into power, expected %.0f to %.0f %%: %s, or it belongs to another fuel (bsfc_fuel)",
			consumptionText(in.BSFC), fuel.Name, eta.Pct(), 100*worstEfficiency, 100*bestEfficiency, slipBSFC)
	}
	return nil
}

var lambdaLimits = limits{lo: 0.6, hi: 1.4}

// ranges refuses an end of a range that stands alone or on the wrong side.
func ranges(in Inputs) error {
	ordered := func(key string, low, mid, high float64) error {
		switch {
		case !given(mid) && given(low) != given(high):
			return fmt.Errorf("%s: one end of its range is given without the figure itself: give %s, or both ends", key, key)
		case given(low) && given(mid) && low > mid, given(mid) && given(high) && mid > high, given(low) && given(high) && low > high:
			return fmt.Errorf("%s: the ends of its range are in the wrong order", key)
		}
		return nil
	}
	return errors.Join(
		ordered("bsfc", float64(in.BSFCLow), float64(in.BSFC), float64(in.BSFCHigh)),
		ordered("ve", float64(in.VELow), float64(in.VE), float64(in.VEHigh)))
}

func arrangement(in Inputs) error {
	ambient, _ := Atmosphere(in.Altitude)
	switch {
	case ambient+in.Boost < 5e3:
		return fmt.Errorf("boost: %.4g kPa below the surrounding %.4g kPa leaves no air in the manifold: boost counts from the surrounding air", -in.Boost.KPa(), ambient.KPa())
	case in.SecondaryInjectors > 0 && !given(in.SecondaryShare):
		return fmt.Errorf("secondary_share: the share of fuel that the secondary injectors give is needed")
	case in.SecondaryInjectors == 0 && given(in.SecondaryShare):
		return fmt.Errorf("secondary_injectors: their number is needed with their share")
	case given(in.PumpPressure) && !given(in.PumpFlow):
		return fmt.Errorf("pump_flow: the flow of the pump is needed with its pressure")
	}
	return nil
}

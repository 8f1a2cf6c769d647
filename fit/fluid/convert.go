package fluid

import (
	"fmt"
	"math"

	"injtab/fit/unit"
)

// VolumeFactor is what a volume flow through an orifice is multiplied by when the
// fluid changes at the same pressure: √(ρ_from / ρ_to). It holds while the
// discharge coefficient stays the same: see ViscosityCaveat.
// Source: orifice law Q = C_d·A·√(2·Δp/ρ) (textbook, from memory).
func VolumeFactor(from, to unit.Density) float64 { return math.Sqrt(float64(from) / float64(to)) }

// MassFactor is the same for a mass flow: √(ρ_to / ρ_from).
func MassFactor(from, to unit.Density) float64 { return math.Sqrt(float64(to) / float64(from)) }

// MassFlow is the mass flow of a volume flow at a density.
func MassFlow(q unit.VolumeFlow, d unit.Density) unit.MassFlow {
	return unit.MassFlow(float64(q) * float64(d))
}

// VolumeFlow is the volume flow of a mass flow at a density.
func VolumeFlow(m unit.MassFlow, d unit.Density) unit.VolumeFlow {
	return unit.VolumeFlow(float64(m) / float64(d))
}

// viscosityRatio is where two fluids differ too much to convert by density alone
// (common practice, no source): gasoline, heptane and alcohols stay below it.
const viscosityRatio = 3

// ViscosityCaveat says, in a sentence, why a flow converted from a to b by density
// alone should not be trusted; "" where the viscosities are near enough.
func ViscosityCaveat(a, b Fluid) string {
	thick, thin := a, b
	if thick.Viscosity < thin.Viscosity {
		thick, thin = b, a
	}
	switch {
	case a.Name == b.Name:
		return ""
	case thin.Viscosity == 0:
		return fmt.Sprintf("the viscosity of %s is not known: converting its flow by density alone holds only for fluids about as thin as gasoline", thin.Name)
	case thick.Viscosity > viscosityRatio*thin.Viscosity:
		return fmt.Sprintf("%s is about %.1f times as viscous as %s (%.2g against %.2g mm2/s), so converting flow by density alone is not justified: measure one injector in both fluids and compare",
			thick.Name, thick.Viscosity/thin.Viscosity, thin.Name, thick.Viscosity, thin.Viscosity)
	}
	return ""
}

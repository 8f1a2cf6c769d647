package engine

import (
	"fmt"
	"math"

	"injtab/fit/unit"
)

// Regulator says what the fuel pressure regulator refers to.
type Regulator string

const (
	Manifold Regulator = "manifold" // the rail rises and falls with the manifold
	Fixed    Regulator = "fixed"    // the rail stays, so boost takes away from it
)

// RailPressure is the gauge pressure in the rail: base at zero boost, plus the
// manifold's gauge pressure where the regulator is referenced to it.
func RailPressure(base unit.Pressure, r Regulator, manifold unit.Pressure) unit.Pressure {
	if r == Fixed {
		return base
	}
	return base + manifold
}

// AcrossInjector is the pressure that drives fuel through the injector,
// Δp = p_rail − p_manifold, both gauge. The error says that nothing would flow.
// Source: Bernoulli; a constant drop of a referenced regulator is stated in
// service literature of the 1990s.
func AcrossInjector(base unit.Pressure, r Regulator, manifold unit.Pressure) (unit.Pressure, error) {
	dp := RailPressure(base, r, manifold) - manifold
	if dp <= 0 {
		return 0, fmt.Errorf("a rail pressure of %.4g kPa against a boost of %.4g kPa leaves nothing to push fuel through the injector: use a manifold-referenced regulator or a higher rail pressure", base.KPa(), manifold.KPa())
	}
	return dp, nil
}

// FlowAt is the static flow at another pressure: q₂ = q₁ · (p₂/p₁)ⁿ, n = 0.5 for
// an orifice; a measured exponent is better. Source: orifice law
// Q = C_d·A·√(2·Δp/ρ) (textbook, from memory).
func FlowAt(q unit.VolumeFlow, from, to unit.Pressure, exponent float64) unit.VolumeFlow {
	return unit.VolumeFlow(float64(q) * math.Pow(float64(to)/float64(from), exponent))
}

package engine

import (
	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// FuelFromPower is the fuel that an engine burns: ṁ = P · b, with P the power at
// the crank and b the brake-specific consumption at that power.
// Source: definition of specific consumption (textbook, from memory).
func FuelFromPower(p unit.Power, b unit.Consumption) unit.MassFlow {
	return unit.MassFlow(float64(p) * float64(b))
}

// PowerFromFuel is its inverse: P = ṁ / b.
func PowerFromFuel(fuel unit.MassFlow, b unit.Consumption) unit.Power {
	return unit.Power(float64(fuel) / float64(b))
}

// FuelFromAir is the fuel that goes with a flow of air: ṁ_f = ṁ_a / (λ · L), with
// L the stoichiometric air-fuel ratio by mass.
// Source: definition of lambda (textbook, from memory).
func FuelFromAir(air unit.MassFlow, lambda, stoich float64) unit.MassFlow {
	return unit.MassFlow(float64(air) / (lambda * stoich))
}

// AirFromFuel is its inverse: ṁ_a = ṁ_f · λ · L.
func AirFromFuel(fuel unit.MassFlow, lambda, stoich float64) unit.MassFlow {
	return unit.MassFlow(float64(fuel) * lambda * stoich)
}

// CrankPower is the power at the crank of an engine that was measured at the
// wheels: P = P_w / (1 − loss), with loss the share that the driveline takes.
func CrankPower(wheels unit.Power, loss unit.Ratio) unit.Power {
	return unit.Power(float64(wheels) / (1 - float64(loss)))
}

// BrakeEfficiency is the share of the fuel's heat that arrives at the crank:
// η = 1 / (b · H), with H the lower heating value. Written the other way round it
// gives b from η. Source: definition (textbook, from memory).
func BrakeEfficiency(b unit.Consumption, heat unit.Heat) unit.Ratio {
	return unit.Ratio(1 / (float64(b) * float64(heat)))
}

// ScaleConsumption turns a specific consumption known in one fuel into that of
// another, for the same air and lambda: b_to = b_from · L_from / L_to. Scaling by
// heating value, for the same efficiency, gives up to 4 % less; the larger figure
// is the safer size.
func ScaleConsumption(b unit.Consumption, from, to fluid.Fluid) unit.Consumption {
	return unit.Consumption(float64(b) * from.Stoich / to.Stoich)
}

package engine

import "injtab/fit/unit"

// gasConstant is R of dry air in J/(kg·K), ISO 2533:1975 (from memory).
const gasConstant = 287.05287

// Air is the mass of air that a four-stroke engine breathes in a second:
//
//	ṁ = η_v · p/(R·T) · V · n/120
//
// with η_v the volumetric efficiency, p and T the absolute pressure and the
// temperature of the charge in the manifold, V the displacement (m³) and n the
// speed (1/min). η_v refers to the manifold, not to the surroundings: it stays
// below or near 1 under boost. Source: speed-density relation of the textbooks;
// the tests rework examples of two.
func Air(v unit.Volume, rpm float64, ve unit.Ratio, p unit.Pressure, t unit.Temperature) unit.MassFlow {
	density := float64(p) / (gasConstant * float64(t))
	return unit.MassFlow(float64(ve) * density * float64(v) * rpm / 120)
}

// VolumetricEfficiency is the inverse of Air: how full the cylinders must get to
// breathe so much.
func VolumetricEfficiency(air unit.MassFlow, v unit.Volume, rpm float64, p unit.Pressure, t unit.Temperature) unit.Ratio {
	return unit.Ratio(float64(air) / float64(Air(v, rpm, 1, p, t)))
}

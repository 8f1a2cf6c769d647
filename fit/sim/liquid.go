package sim

import (
	"math"

	"injtab/fit/unit"
)

// The bench fluid is n-heptane. Density and viscosity at 25 °C: Luning Prak,
// Cowart and Trulove, J. Chem. Eng. Data 2014 (abstract); expansion and the fall
// of viscosity with temperature from memory.
const (
	refTemp       = 25 + 273.15 // K
	refDensity    = 679.61      // kg/m³
	refViscosity  = 0.389e-3    // Pa·s
	expansion     = 1.23e-3     // 1/K
	viscosityFall = 0.0105      // 1/K
)

// Copper's resistance rises by this part per kelvin from 20 °C (handbook value, from memory).
const (
	copper     = 3.93e-3
	copperTemp = 20 + 273.15
)

// RoomTemp is taken where no temperature is given.
const RoomTemp = unit.Temperature(21 + 273.15)

func density(t float64) float64   { return refDensity / (1 + expansion*(t-refTemp)) }
func viscosity(t float64) float64 { return refViscosity * math.Exp(-viscosityFall*(t-refTemp)) }
func hot(ohms, t float64) float64 { return ohms * (1 + copper*(t-copperTemp)) }

package engine

import (
	"math"

	"injtab/fit/unit"
)

// Atmosphere is the standard air at a geopotential height H in m, up to 11 km:
// T = 288.15 − 0.0065·H K, p = 101325·(T/288.15)^5.25588 Pa.
// Source: ISO 2533:1975 (from memory); the tests compare with its table. Geometric
// heights differ by less than 0.1 % of the pressure up to 3 km.
func Atmosphere(height unit.Length) (unit.Pressure, unit.Temperature) {
	const seaLevel, lapse, exponent = 288.15, 0.0065, 5.25588
	t := seaLevel - lapse*float64(height)
	return unit.Pressure(101325 * math.Pow(t/seaLevel, exponent)), unit.Temperature(t)
}

// CompressorOutlet is the temperature behind a compressor:
//
//	T₂ = T₁ · (1 + (Π^((κ−1)/κ) − 1) / η),  κ = 1.4
//
// with Π the ratio of absolute pressures and η the isentropic efficiency (a
// polytropic one is another figure). Source: textbook thermodynamics; the tests
// rework three examples.
func CompressorOutlet(t1 unit.Temperature, ratio float64, efficiency unit.Ratio) unit.Temperature {
	rise := (math.Pow(ratio, 0.4/1.4) - 1) / float64(efficiency)
	return unit.Temperature(float64(t1) * (1 + rise))
}

// Intercooler is the temperature behind it: T₃ = T₂ − ε·(T₂ − T_c), with ε the
// effectiveness (1 cools down to the coolant, 0 not at all) and T_c the coolant.
// Source: definition of effectiveness (textbook heat transfer).
func Intercooler(t2, coolant unit.Temperature, effectiveness unit.Ratio) unit.Temperature {
	return t2 - unit.Temperature(float64(effectiveness)*float64(t2-coolant))
}

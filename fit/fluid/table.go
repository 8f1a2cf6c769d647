package fluid

import "injtab/fit/unit"

// Sources that several fluids share.
const (
	greet = "density and heating value: table of lower and higher heating values of fuels, Hydrogen Analysis Resource Center of the US Department of Energy"
	afdc  = "US Department of Energy, Alternative Fuels Data Center, Properties of Fuels"
	mix   = "blend by volume of gasoline and alcohol: density and expansion linear in volume, ratio and heating value linear in mass"
)

// sixty is the reference temperature of the fuel trade, 60 °F.
var sixty = unit.Temperatures.In(60, "F")

// The pure fluids. Densities of fuels are g per US gallon of the source ÷
// 3.785411784 l. The tests compare each figure with a second source or with the
// chemistry.
var (
	gasoline = Fluid{
		Name: "gasoline", Title: "Gasoline without alcohol",
		Density: 2819 / 3.785411784, RefTemp: sixty, Expansion: 0.95e-3,
		Stoich: 14.7, Heat: 43.44e6, Viscosity: 0.6, ViscosityTemp: unit.Celsius(20),
		Note:   "EN 228 allows 720 to 775 kg/m³ at 15 C: measure yours where 2 % matters",
		Source: greet + "; ratio: " + afdc + "; expansion: OpenStax College Physics, table of coefficients (from memory), and KU Leuven; viscosity from memory",
	}
	ethanol = Fluid{
		Name: "ethanol", Title: "Ethanol",
		Density: 2988 / 3.785411784, RefTemp: sixty, Expansion: 1.1e-3,
		Stoich: 9.0, Heat: 26.95e6, Viscosity: 1.5, ViscosityTemp: unit.Celsius(20),
		Source: greet + "; ratio: " + afdc + ", and its formula C2H6O; expansion and viscosity from memory",
	}
	methanol = Fluid{
		Name: "methanol", Title: "Methanol",
		Density: 3006 / 3.785411784, RefTemp: sixty, Expansion: 1.19e-3,
		Stoich: 6.47, Heat: 20.09e6, Viscosity: 0.74, ViscosityTemp: unit.Celsius(20),
		Note:   "toxic through the skin, burns with a flame that can't be seen in daylight",
		Source: greet + "; ratio: computed from its formula CH4O; expansion and viscosity from memory",
	}
	isooctane = Fluid{
		Name: "isooctane", Title: "Isooctane (2,2,4-trimethylpentane)",
		Density: 687.70, RefTemp: unit.Celsius(25), Expansion: 1.2e-3,
		Stoich: 15.13, Heat: 44.3e6, Viscosity: 0.501 / 0.68770, ViscosityTemp: unit.Celsius(25),
		Source: "density and viscosity: Luning Prak, Cowart and Trulove, J. Chem. Eng. Data 2014; ratio: computed from its formula C8H18; heating value and expansion from memory",
	}
	heptane = Fluid{
		Name: "n-heptane", Title: "n-heptane, the usual bench fluid of laboratories",
		Density: 679.61, RefTemp: unit.Celsius(25), Expansion: 1.23e-3,
		Stoich: 15.18, Heat: 44.56e6, Viscosity: 0.389 / 0.67961, ViscosityTemp: unit.Celsius(25),
		Note:   "as flammable as gasoline (flash point -4 C)",
		Source: "density and viscosity: Luning Prak, Cowart and Trulove, J. Chem. Eng. Data 2014; ratio: computed from its formula C7H16; heating value and expansion from memory",
	}
	spirits = Fluid{
		Name: "mineral spirits", Title: "Mineral spirits (white spirit, regular flash)",
		Density: 780, RefTemp: unit.Celsius(15), Expansion: 1.0e-3,
		Viscosity: 1.3, ViscosityTemp: unit.Celsius(20),
		Note:   "0.765 to 0.795 by grade: weigh 100 ml of yours and give the density",
		Source: "density: encyclopaedia table of white spirits by grade, relative density at 15 C; expansion: between octane and dodecane of the CRC Handbook (as quoted); viscosity from memory",
	}
	oil = Fluid{
		Name: "calibration oil", Title: "Calibration oil for diesel equipment (ISO 4113)",
		Density: 825, RefTemp: unit.Celsius(15), Expansion: 0.85e-3,
		Viscosity: 2.6, ViscosityTemp: unit.Celsius(40),
		Note:   "several times as viscous as gasoline: converting flow by density alone is not justified",
		Source: "ISO 4113 fluid, all figures from memory: 820 to 830 kg/m³ at 15 C, 2.45 to 2.75 mm²/s at 40 C",
	}
)

// All lists the built-in fluids: fuels first, then bench fluids. Any other blend
// of gasoline and alcohol is found by Lookup.
func All() []Fluid {
	return []Fluid{
		gasoline, blend("E10", gasoline, ethanol, 0.10), blend("E85", gasoline, ethanol, 0.85),
		ethanol, methanol, isooctane, heptane, spirits, oil,
	}
}

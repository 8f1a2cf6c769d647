// Package fluid knows the liquids that flow through an injector: bench fluids and
// fuels, with their properties and where each figure comes from.
//
// A fluid is looked up by name (gasoline, E85, n-heptane), blended by volume
// (E60, M50), or made from a density alone. Everything the program converts
// between fluids goes through VolumeFactor and MassFactor.
package fluid

import "injtab/fit/unit"

// A Fluid is a liquid. Zero fields are not known.
type Fluid struct {
	Name          string           // as typed: "gasoline", "E85", "n-heptane"
	Title         string           // for people
	Density       unit.Density     // at RefTemp
	RefTemp       unit.Temperature // temperature of Density; 0 where the density holds as given
	Expansion     float64          // 1/K, volumetric
	Stoich        float64          // kg air per kg fuel at lambda 1; 0 for a bench fluid
	Heat          unit.Heat        // lower heating value; 0 for a bench fluid
	Viscosity     float64          // mm²/s at ViscosityTemp, 0 where not known
	ViscosityTemp unit.Temperature // temperature of Viscosity
	Note          string           // what a user should mind, "" if nothing
	Source        string           // where the figures come from
}

// At is the density at a temperature: ρ(T) = ρ_ref / (1 + β·(T − T_ref)).
func (f Fluid) At(t unit.Temperature) unit.Density {
	return unit.Density(float64(f.Density) / (1 + f.Expansion*float64(t-f.RefTemp)))
}

// Fuel tells whether the fluid can be burned by the program's engines: its
// stoichiometric ratio and heating value are known.
func (f Fluid) Fuel() bool { return f.Stoich > 0 && f.Heat > 0 }

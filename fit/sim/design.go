package sim

// A Design is one type of injector with the driver that it is tested on. All
// values are in SI units. Areas and the curtain include their discharge
// coefficients.
type Design struct {
	Name string

	// Coil. The current that magnetises is flux·(1/Inductance − GapRate·lift) +
	// Saturation·flux³, where flux is the flux linked with all turns.
	Resistance float64 // Ω at 20 °C
	Inductance float64 // H, needle on its seat, far from saturation
	GapRate    float64 // 1/(H·m), fall of 1/inductance per metre of lift
	Saturation float64 // A/Wb³
	Eddy       float64 // S, conductance of the eddy currents' path seen from the coil

	// Driver, saturated: fully on, then off into a clamp.
	Drop  float64 // V lost in the switch while on
	Clamp float64 // V across the coil, reversed, while its current dies away

	// Needle.
	Mass     float64 // kg
	Lift     float64 // m from the seat to the upper stop
	Preload  float64 // N, spring load on the seat
	Rate     float64 // N/m, spring
	Damping  float64 // N·s/m
	Film     float64 // m, depth of the liquid film that cushions the upper stop
	Gap      float64 // m, what is left of the film at the stop
	Bounce   float64 // speed after a stop ÷ speed before it
	SeatArea float64 // m², on which the pressure drop of the seat acts

	// Liquid's path.
	Curtain float64 // m² of seat opening per metre of lift
	Orifice float64 // m², metering plate
	Viscous float64 // 1/m³, pressure lost in the plate ÷ (viscosity · flow)
}

// Designs gives the invented types: A, B and C are usual ones of middle, small
// and large flow; D has a heavy needle, a strong spring and a fast clamp, and
// hardly opens at 8 V under 500 kPa; E has a slow magnet and a weak clamp, so that how
// soon it closes after a short pulse depends much on the voltage.
func Designs() []Design {
	return []Design{
		{
			Name:       "A",
			Resistance: 12.4, Inductance: 14.0e-3, GapRate: 2.6e5, Saturation: 2.6e5, Eddy: 1.0 / 75,
			Drop: 0.15, Clamp: 55,
			Mass: 1.6e-3, Lift: 70e-6, Preload: 4.6, Rate: 34e3, Damping: 8, Film: 40e-6, Gap: 4e-6, Bounce: 0.05, SeatArea: 2.6e-6,
			Curtain: 7.2e-3, Orifice: 3.5e-7, Viscous: 2.4e12,
		},
		{
			Name:       "B",
			Resistance: 14.6, Inductance: 17.0e-3, GapRate: 2.6e5, Saturation: 1.5e5, Eddy: 1.0 / 75,
			Drop: 0.15, Clamp: 65,
			Mass: 1.4e-3, Lift: 60e-6, Preload: 5.0, Rate: 40e3, Damping: 8, Film: 40e-6, Gap: 4e-6, Bounce: 0.05, SeatArea: 2.2e-6,
			Curtain: 5.4e-3, Orifice: 2.1e-7, Viscous: 5.2e12,
		},
		{
			Name:       "C",
			Resistance: 11.9, Inductance: 13.8e-3, GapRate: 2.45e5, Saturation: 2.6e5, Eddy: 1.0 / 75,
			Drop: 0.20, Clamp: 52,
			Mass: 1.6e-3, Lift: 85e-6, Preload: 4.3, Rate: 26e3, Damping: 7, Film: 40e-6, Gap: 4e-6, Bounce: 0.05, SeatArea: 3.0e-6,
			Curtain: 10.2e-3, Orifice: 6.5e-7, Viscous: 1.1e12,
		},
		{
			Name:       "D",
			Resistance: 12.1, Inductance: 11.6e-3, GapRate: 3.3e5, Saturation: 2.6e5, Eddy: 1.0 / 70,
			Drop: 0.10, Clamp: 85,
			Mass: 3.0e-3, Lift: 72e-6, Preload: 5.6, Rate: 36e3, Damping: 10, Film: 50e-6, Gap: 4e-6, Bounce: 0.05, SeatArea: 3.3e-6,
			Curtain: 7.6e-3, Orifice: 4.2e-7, Viscous: 1.9e12,
		},
		{
			Name:       "E",
			Resistance: 14.6, Inductance: 20e-3, GapRate: 1.9e5, Saturation: 0.2e5, Eddy: 1.0 / 75,
			Drop: 0.15, Clamp: 28,
			Mass: 1.5e-3, Lift: 62e-6, Preload: 5.4, Rate: 60e3, Damping: 8, Film: 40e-6, Gap: 4e-6, Bounce: 0.05, SeatArea: 2.4e-6,
			Curtain: 7.2e-3, Orifice: 2.9e-7, Viscous: 2.8e12,
		},
	}
}

// ByName finds a design; it panics on a name that Designs doesn't give.
func ByName(name string) Design {
	for _, d := range Designs() {
		if d.Name == name {
			return d
		}
	}
	panic("sim: no design " + name)
}

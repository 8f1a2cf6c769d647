package sim

import "math"

// A model is a unit at one pressure, supply and temperature, with the constants
// of its equations folded together. Energy is conserved by construction: the
// force is the derivative of the field's energy that the same inductance gives.
type model struct {
	supply, clamp float64 // V across the coil when on, reversed when off
	ohms          float64 // Ω, warm
	eddy          float64 // S
	lag           float64 // 1 + ohms·eddy: what eddy currents add to the time constant
	invL          float64 // 1/H, needle on its seat
	gapRate       float64 // 1/(H·m)
	sat           float64 // A/Wb³
	invMass       float64 // 1/kg
	lift          float64 // m
	preload, rate float64 // N, N/m
	stick         float64 // N
	damping       float64 // N·s/m
	film, gap     float64 // m
	bounce        float64
	pressure      float64 // Pa
	seatArea      float64 // m²
	seatLoss      float64 // Pa·s²/m⁴: loss of the curtain = seatLoss·(flow/lift)²
	plateLoss     float64 // Pa·s²/m⁶: loss of the plate = plateLoss·flow² + viscous·flow
	viscous       float64 // Pa·s/m³
	leak          float64 // m³/s, all the time
	dead          bool
	step          float64 // s, longest step of the integration
}

// step is the longest step; TestStep measures what it is worth.
const step = 15e-6

func newModel(u Unit, c condition) *model {
	rho := density(c.temp)
	return &model{
		supply: c.volts - u.Drop, clamp: u.Clamp,
		ohms: hot(u.Resistance, c.temp), eddy: u.Eddy, lag: 1 + hot(u.Resistance, c.temp)*u.Eddy,
		invL: 1 / u.Inductance, gapRate: u.GapRate, sat: u.Saturation,
		invMass: 1 / u.Mass, lift: u.Lift, preload: u.Preload, rate: u.Rate,
		stick: u.Fault.Stick, damping: u.Damping, film: u.Film, gap: u.Gap, bounce: u.Bounce,
		pressure: c.pressure, seatArea: u.SeatArea,
		seatLoss:  rho / 2 / (u.Curtain * u.Curtain),
		plateLoss: rho / 2 / (u.Orifice * u.Orifice),
		viscous:   u.Viscous * viscosity(c.temp),
		leak:      u.Fault.Leak * math.Sqrt(2*c.pressure/rho),
		dead:      u.Fault.Dead,
		step:      step,
	}
}

// magnetising is the current in ampere that flux needs, eddy currents apart.
func (m *model) magnetising(flux, lift float64) float64 {
	return flux * (m.invL - m.gapRate*lift + m.sat*flux*flux)
}

// fluxRate is the voltage that changes the flux. Coil and eddy path are two
// windings around it: the coil's current is magnetising + eddy·rate, so with the
// switch on, supply = ohms·current + rate. With the switch off the coil is clamped
// while it carries current, and then the eddy currents alone hold the flux up.
func (m *model) fluxRate(magnetising float64, on bool) float64 {
	if on {
		return (m.supply - m.ohms*magnetising) / m.lag
	}
	if m.clamped(magnetising) {
		return -(m.clamp + m.ohms*magnetising) / m.lag
	}
	return -magnetising / m.eddy
}

// clamped tells whether the coil still carries current with the switch off: whether
// magnetising + eddy·rate is positive at the clamp's rate.
func (m *model) clamped(magnetising float64) bool {
	return magnetising > m.eddy*m.clamp
}

// flowPerLift is flow ÷ lift in m²/s. Curtain and plate in series lose the whole
// pressure: seatLoss·(q/x)² + plateLoss·q² + viscous·q = pressure, solved for q/x
// in the form that stays finite on the seat.
func (m *model) flowPerLift(lift float64) float64 {
	b := m.viscous * lift
	a := m.seatLoss + m.plateLoss*lift*lift
	return 2 * m.pressure / (b + math.Sqrt(b*b+4*a*m.pressure))
}

// netForce lifts the needle: magnet less spring, damping and the seat's share of
// the pressure. flowPerLift is passed in because every caller has it.
func (m *model) netForce(s state, flowPerLift float64) float64 {
	magnet := 0.5 * m.gapRate * s.flux * s.flux
	liquid := m.seatArea * m.seatLoss * flowPerLift * flowPerLift
	film := m.damping * (1 + m.film/(m.lift-s.lift+m.gap))
	return magnet - m.preload - m.rate*s.lift - liquid - film*s.speed
}

// needed is the flux in Wb that lifts the needle off its seat.
func (m *model) needed() float64 {
	return math.Sqrt(2 * (m.preload + m.stick + m.seatArea*m.pressure) / m.gapRate)
}

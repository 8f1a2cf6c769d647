package sim

import (
	"math"
	"testing"

	"injtab/fit/unit"
)

// Current of a coil at rest with neither eddy currents nor saturation reaches i at
// t = −(L/R)·ln(1 − i·R/V). Times for R 14.5 Ω, L 14 mH, i 0.35 A are calculated
// from that formula; the constants are illustrative, not of a real part.
func TestCoilAgainstTheClosedForm(t *testing.T) {
	for volts, ms := range map[float64]float64{8: 0.9715, 10: 0.6838, 12: 0.5308, 14: 0.4347, 16: 0.3684} {
		m := coil(volts)
		s := m.run(state{}, ms/1e3, true)
		near(t, "current", m.magnetising(s.flux, 0), 0.35, 0.35*1e-4)
		exact := 14.0 / 14.5 * -math.Log(1-0.35*14.5/volts)
		near(t, "time in ms", ms, exact, 1e-4)
		s = m.run(state{}, exact/1e3, true)
		near(t, "current at the exact time", m.magnetising(s.flux, 0), 0.35, 1e-9)
	}
	m := coil(5.075)
	if i := m.magnetising(m.run(state{}, 1, true).flux, 0); i > 0.35*(1+1e-9) {
		t.Errorf("5.075 V drives %v A, more than 0.35 A", i)
	}
}

// coil is a coil whose needle can't move.
func coil(volts float64) *model {
	d := Design{Resistance: 14.5, Inductance: 14e-3, Mass: 1, Preload: math.Inf(1), SeatArea: 1e-6,
		Curtain: 1e-3, Orifice: 1e-7, Lift: 1e-4, GapRate: 1}
	return newModel(d.Nominal(), condition{300e3, volts, copperTemp})
}

// The electrical work goes into heat of the coil and of the eddy currents, into the
// field and into the needle: nothing is lost or made. The force and the inductance
// would disagree here if either were wrong.
func TestEnergyBalance(t *testing.T) {
	for _, d := range Designs() {
		m := newModel(d.Nominal(), condition{300e3, 13.5, float64(RoomTemp)})
		m.step = 1e-7
		var s state
		var work, heat, lifting float64
		for range 30000 {
			was := s
			s = m.forward(s, m.step, true)
			mid := m.magnetising((was.flux+s.flux)/2, (was.lift+s.lift)/2)
			rate := (s.flux - was.flux) / m.step
			current := mid + m.eddy*rate
			work += m.supply * current * m.step
			heat += (m.ohms*current*current + m.eddy*rate*rate) * m.step
			flux2 := (was.flux*was.flux + s.flux*s.flux) / 2
			lifting += 0.5 * m.gapRate * flux2 * (s.lift - was.lift)
		}
		if s.needle != atStop {
			t.Fatalf("%s isn't open after 3 ms", d.Name)
		}
		field := s.flux*s.flux*(m.invL-m.gapRate*s.lift)/2 + m.sat*math.Pow(s.flux, 4)/4
		near(t, d.Name+" energy in J", heat+field+lifting, work, 1e-4*work)
		if lifting < 1e-4*work {
			t.Errorf("%s: the needle took %g J of %g J: too little to prove anything", d.Name, lifting, work)
		}
	}
}

// The losses of seat and plate add up to the pressure.
func TestFlowLosesTheWholePressure(t *testing.T) {
	for _, d := range Designs() {
		m := newModel(d.Nominal(), condition{300e3, 13.5, float64(RoomTemp)})
		for part := 0.01; part <= 1; part += 0.01 {
			x := part * m.lift
			perLift := m.flowPerLift(x)
			q := perLift * x
			near(t, d.Name+" losses in Pa", m.seatLoss*perLift*perLift+m.plateLoss*q*q+m.viscous*q, 300e3, 1e-6)
		}
		near(t, d.Name+" loss of the closed seat", m.seatLoss*math.Pow(m.flowPerLift(0), 2), 300e3, 1e-6)
	}
}

// The delivered volume is the flow law summed over the needle's path.
func TestVolumeIsTheSumOfTheFlow(t *testing.T) {
	m := newModel(ByName("C").Nominal(), condition{300e3, 12, float64(RoomTemp)})
	m.step = 2e-7
	var s state
	var sum float64
	for range 15000 {
		was := s
		s = m.forward(s, m.step, true)
		x := (was.lift + s.lift) / 2
		sum += m.flowPerLift(x) * x * m.step
	}
	near(t, "volume in m³", s.volume, sum, 1e-6*sum)
}

// The step is good for better than 0.05 % of a shot, against one twenty times as short.
func TestStep(t *testing.T) {
	worst := 0.0
	for _, d := range Designs() {
		for _, volts := range []float64{10, 13.5} {
			shot := func(step, pulse float64) float64 {
				o := newOpening(d.Nominal(), condition{300e3, volts, float64(RoomTemp)})
				o.step = step
				return o.shot(pulse, 20e-3)
			}
			dead := float64(d.Nominal().Truth().DeadTime(300e3, unit.Voltage(volts)))
			for open := 0.9e-3; open < 4e-3; open += 0.097e-3 {
				e := shot(step, dead+open)/shot(step/20, dead+open) - 1
				worst = max(worst, math.Abs(e))
			}
		}
	}
	t.Logf("largest change %.5f %%", 100*worst)
	if worst > 5e-4 {
		t.Errorf("a step of %g s changes a shot by %.3f %%", step, 100*worst)
	}
}

package fit

import (
	"math"

	"injtab/fit/diag"
	"injtab/fit/unit"
)

// differences gives the function that tells by how much any member differs from the mean
// over who, which is worked out once; what is common to both (gauges, vessel, form)
// cancels.
func (m *Model) differences(who Who, q quantity) func(g int) Estimate {
	all, mean := m.mean(who, q)
	reference := m.sol.Reference(mean.shared, mean.local)
	spread := math.Max(1, m.sol.Scale()*m.sol.Scale())
	return func(g int) Estimate {
		own, gr := m.mean(Who{g}, q)
		e := m.interval(own-all, reference.VarianceFrom(gr.shared, gr.local)*spread)
		return m.finish(e, Who{g}, diag.Measured, diag.OK)
	}
}

// FlowDifferences gives the function that tells by how much a member's static flow
// differs from the mean over who, as a logarithm (0.01: one per cent more).
func (m *Model) FlowDifferences(who Who) func(g int) Estimate {
	return m.differences(who, func(i int, grad []float64) float64 {
		grad[localFlow] = 1
		return m.sol.Local[i][localFlow]
	})
}

// DeadTimeDifferences gives the function that tells by how many ms a member's dead time
// differs from the mean over who at a pressure and voltage.
func (m *Model) DeadTimeDifferences(who Who, p unit.Pressure, v unit.Voltage) func(g int) Estimate {
	here := m.sol.dead.locate(place{p.KPa(), v.V()})
	of := m.differences(who, func(i int, grad []float64) float64 {
		return m.sol.boundDeadTime(&m.bounds[i], m.sol.Local[i], m.sol.Shared, here, grad)
	})
	return func(g int) Estimate {
		e := of(g)
		e.Basis, e.Status = m.state(Who{g}, p, v)
		return e
	}
}

// Voltages and Pressures are those measured with pulses, rising; V and kPa.
func (m *Model) Voltages() []float64  { return m.measured.voltages }
func (m *Model) Pressures() []float64 { return m.measured.pressures }

// FlowPressures are the pressures measured with pulses or held open; kPa, rising.
func (m *Model) FlowPressures() []float64 { return m.measured.flowPressures }

// OpenTimes are the shortest and longest open time in ms that readings support.
func (m *Model) OpenTimes() (lo, hi float64) { return m.measured.shortest, m.measured.longest }

// Exponent is n of the orifice law and whether it was measured.
func (m *Model) Exponent() (Estimate, bool) {
	gr := gradient{shared: make([]float64, m.sol.shared())}
	gr.shared[0] = 1
	e := m.interval(m.sol.Shared[0], m.variance(gr))
	return e, m.sol.freeN
}

// BendsByVoltage tells whether the chosen short-pulse form carries voltage.
func (m *Model) BendsByVoltage() bool { return m.sol.bend.voltage }

// ShortVoltages are the voltages at which pulses in the short region were read.
func (m *Model) ShortVoltages() []float64 {
	short := m.sol.data
	short.groups = make([][]datum, len(m.sol.data.groups))
	for g, group := range m.sol.data.groups {
		for i, x := range group {
			if !x.c.static && m.shots[g][i].w < shortOpen {
				short.groups[g] = append(short.groups[g], x)
			}
		}
	}
	return short.voltages()
}

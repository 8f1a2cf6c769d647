package engine

import (
	"fmt"

	"injtab/fit/unit"
)

// Window is the time from one pulse to the next of an injector that opens k times
// in a cycle of two turns: T = 120 / (n · k) s, with n in 1/min. That is
// 120000/rpm ms once per cycle and half of it once per turn. Kinematics.
func Window(rpm float64, pulsesPerCycle int) unit.Time {
	return unit.Time(120 / (rpm * float64(pulsesPerCycle)))
}

// Duty is the share of the window that the injector is driven for: D = t / T,
// where t is the commanded pulse, dead time included. Where dead time takes more
// than the window it exceeds 1.
func Duty(pulse, window unit.Time) unit.Ratio {
	return unit.Ratio(float64(pulse) / float64(window))
}

// FuelPerPulse is what one of n injectors must deliver in each window: m = ṁ·T/n.
func FuelPerPulse(fuel unit.MassFlow, window unit.Time, injectors int) unit.Mass {
	return unit.Mass(float64(fuel) * float64(window) / float64(injectors))
}

// StaticFlow is the flow that delivers m in a pulse t with dead time d:
// ṁ_s = m / (t − d). The error says that the pulse ends before the injector opens.
func StaticFlow(m unit.Mass, pulse, dead unit.Time) (unit.MassFlow, error) {
	if dead >= pulse {
		return 0, fmt.Errorf("the dead time of %.3g ms uses up the whole pulse of %.3g ms, so the engine can't be fuelled at this speed: a lower speed or a faster injector is needed", dead.Ms(), pulse.Ms())
	}
	return unit.MassFlow(float64(m) / float64(pulse-dead)), nil
}

// PulseFor is the inverse: the commanded pulse that delivers m, t = m/ṁ_s + d.
func PulseFor(m unit.Mass, static unit.MassFlow, dead unit.Time) unit.Time {
	return unit.Time(float64(m)/float64(static)) + dead
}

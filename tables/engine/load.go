package engine

import (
	"fmt"

	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// A load is a set of injectors at a supply voltage, to be put under an engine.
type load struct {
	injectors []Injector
	voltage   unit.Voltage
}

// operating is the leanest injector in one condition.
type operating struct {
	injector  Injector
	flow, ci  unit.MassFlow // static, and half its interval
	dead      unit.Time
	pulse     unit.Time
	window    unit.Time
	low, high unit.Time // ends of the pulse
	perPulse  unit.Mass
}

func (o operating) duty() unit.Ratio { return Duty(o.pulse, o.window) }

// find loads each injector with its share of the engine's fuel and gives the one
// that needs the longest pulse; of equals the first.
func (l load) find(f *filled) (operating, error) {
	s := f.sets[0]
	window := f.window(s)
	fuel := f.fuel().share(s.share)
	var worst operating
	for _, i := range l.injectors {
		if err := checkInjector(i, f.dp); err != nil {
			return operating{}, err
		}
		o := operating{injector: i, window: window, perPulse: FuelPerPulse(fuel.mid, window, s.injectors)}
		o.flow, o.ci = massStatic(i, f.density, f.dp)
		var err error
		if o.dead, err = i.DeadTime(f.dp, l.voltage); err != nil {
			return operating{}, Unknown{fmt.Errorf("injector %s: %w", i.Name(), err)}
		}
		o.pulse = PulseFor(o.perPulse, o.flow, o.dead)
		o.low = PulseFor(FuelPerPulse(fuel.low, window, s.injectors), o.flow+o.ci, o.dead)
		// An interval as wide as the flow itself would leave nothing to divide by.
		least := max(o.flow-o.ci, o.flow/10)
		o.high = PulseFor(FuelPerPulse(fuel.high, window, s.injectors), least, o.dead)
		if worst.injector == nil || o.pulse > worst.pulse {
			worst = o
		}
	}
	return worst, nil
}

// fuelAtLimit is the fuel of the whole engine with which the leanest injector is
// at the duty limit; 0 or less where dead time takes it all.
func (l load) fuelAtLimit(f *filled) (unit.MassFlow, error) {
	s := f.sets[0]
	window := f.window(s)
	var least unit.MassFlow
	for n, i := range l.injectors {
		flow, _ := massStatic(i, f.density, f.dp)
		dead, err := i.DeadTime(f.dp, l.voltage)
		if err != nil {
			return 0, fmt.Errorf("injector %s: %w", i.Name(), err)
		}
		open := float64(f.Duty) - float64(dead/window)
		fuel := unit.MassFlow(float64(flow) * open * float64(s.injectors) / s.share)
		if n == 0 || fuel < least {
			least = fuel
		}
	}
	return least, nil
}

func (o operating) duties(f *filled) Duties {
	fuel := f.fuel().mid
	return Duties{
		RPM: f.RPM, Boost: f.Boost.KPa(), Power: PowerFromFuel(fuel, f.BSFC).KW(),
		Fuel: f.Fuel.Name, FuelMass: fuel.GMin(),
		Duty: o.duty().Pct(), LowDuty: Duty(o.low, o.window).Pct(), HighDuty: Duty(o.high, o.window).Pct(),
		Pulse: o.pulse.Ms(), Window: o.window.Ms(), DeadTime: o.dead.Ms(),
		AcrossInjector: f.dp.KPa(), Flow: fluid.VolumeFlow(o.flow, f.density).MlMin(),
	}
}

package plan

import (
	"fmt"

	"injtab/fit"
)

// yields gives the worst of every kind of need, beside what the even plan leaves
// of the same one.
func (j *job) yields(o, even outcome) []Yield {
	kinds := []struct {
		name string
		is   func(y yield) bool
	}{
		{"static flow", func(y yield) bool { return y.Kind == fit.StaticFlow }},
		{"delivered fuel, long pulses", func(y yield) bool { return y.Kind == fit.DeliveredFor && !y.short() }},
		{"delivered fuel, short pulses", func(y yield) bool { return y.Kind == fit.DeliveredFor && y.short() }},
		{"difference between injectors", func(y yield) bool { return y.Kind == fit.DeliveredBy }},
	}
	list := []Yield{j.deadYield(o, even)}
	for _, k := range kinds {
		worst := -1
		for i, y := range o.met {
			if k.is(y) && (worst < 0 || y.u()/y.allowed > o.met[worst].u()/o.met[worst].allowed) {
				worst = i
			}
		}
		if worst < 0 {
			continue
		}
		y := o.met[worst]
		row := Yield{Quantity: k.name, At: y.where(), Unit: "%", Aim: tidy(100 * y.allowed),
			Random: tidy(100 * finiteOr(y.random)), Gauges: tidy(100 * finiteOr(y.common)), Both: tidy(100 * finiteOr(y.u()))}
		if worst < len(even.met) {
			row.Even = tidy(100 * finiteOr(even.met[worst].u()))
		}
		list = append(list, row)
	}
	return list
}

// deadYield is the least sure dead time of the grid. What is aimed at is the time
// that makes up the target at the end of the short region.
func (j *job) deadYield(o, even outcome) Yield {
	row := Yield{Quantity: "dead time", Unit: "us", Aim: tidy(1e3 * float64(j.Target) * shortRegion), At: "nowhere"}
	for _, p := range j.pressures {
		for _, v := range j.voltages {
			d := o.look.DeadTime(o.look.Model.Everyone()[:1], p, v)
			if !d.Status.HasValue() || 1e3*d.U() <= row.Both {
				continue
			}
			row.At = fmt.Sprintf("%.4g kPa, %.4g V", p.KPa(), v.V())
			row.Random, row.Gauges, row.Both = tidy(1e3*d.Random), tidy(1e3*d.Gauges), tidy(1e3*d.U())
			if even.look != nil {
				row.Even = tidy(1e3 * even.look.DeadTime(even.look.Model.Everyone()[:1], p, v).U())
			}
		}
	}
	return row
}

func (y yield) short() bool { return y.Open.Ms() < shortRegion-1e-9 && y.Kind != fit.StaticFlow }

func (y yield) where() string {
	if y.Kind == fit.StaticFlow {
		return fmt.Sprintf("%.4g kPa", y.Pressure.KPa())
	}
	return fmt.Sprintf("%.3g ms open, %.4g kPa, %.4g V", y.Open.Ms(), y.Pressure.KPa(), y.Voltage.V())
}

// remark says what the user should know of the plan.
func (j *job) remark(p Plan, o outcome) {
	var worst yield
	for _, y := range o.met {
		if worst.allowed <= 0 || y.u()/y.allowed > worst.u()/worst.allowed {
			worst = y
		}
	}
	switch {
	case p.Met:
	case worst.common > worst.allowed:
		j.say("gauges", "gauge, voltmeter, timer and vessel alone leave %.2g %% at %s, where %.2g %% is aimed at: no number of readings helps; better gauges, a finer vessel or a higher lowest voltage do",
			100*worst.common, worst.where(), 100*worst.allowed)
	case j.BenchTime > 0:
		j.say("time", "in this bench time %.2g %% is reached at %s, where %.2g %% is aimed at: give more time, or a wider target", 100*worst.u(), worst.where(), 100*worst.allowed)
	default:
		j.say("day", "in a working day %.2g %% is reached at %s, where %.2g %% is aimed at: a finer vessel helps more than further readings", 100*worst.u(), worst.where(), 100*worst.allowed)
	}
	if j.AtHand > 0 && p.Fluid > 1e-3*j.AtHand.Ml() {
		j.say("fluid", "%.3g l pass the injectors and %.3g l are at hand: drain the vessels back into the tank, and keep what drips", p.Fluid, 1e-3*j.AtHand.Ml())
	}
	if p.Even.Taken {
		j.say("even", "the evenly spread plan turned out no worse and is the one given")
	}
}

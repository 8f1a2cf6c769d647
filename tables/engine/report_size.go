package engine

import (
	"fmt"
	"strings"

	"injtab/fit/diag"
	"injtab/tables"
)

// Report lays the size out for export: the answer first.
func (r SizeResult) Report() tables.Report {
	return tables.Report{
		Title:    titled("Injector size", r.title),
		Answer:   r.answer(),
		Facts:    r.facts(),
		Sections: []tables.Section{r.body()},
		Next:     r.next(),
		Cautions: cautions(),
	}
}

// Section is the size as a part of a larger report.
func (r SizeResult) Section() tables.Section {
	s := r.body()
	s.Text = r.answer()
	return s
}

// body is the section without the answer, which a report of its own begins with.
func (r SizeResult) body() tables.Section {
	s := tables.Section{Name: "size", Heading: "Injector size", Notes: r.notes}
	paths := r.pathTable()
	paths.Aside = len(r.Paths) == 1
	s.Tables = append(s.Tables, paths)
	if len(r.Sets) > 1 {
		s.Tables = append(s.Tables, r.setTable())
	}
	if len(r.ByDuty) > 0 {
		t := r.dutyTable()
		s.Tables = append(s.Tables, aside(t))
		s.Charts = append(s.Charts, lines(t, flowScale, "Injector size rising with "+strings.ToLower(t.Row.Title)+", one line for each duty limit; a lower limit asks for a larger injector."))
	}
	if len(r.ByBoost) > 0 {
		t := r.boostTable()
		s.Tables = append(s.Tables, t)
		s.Charts = append(s.Charts, lines(t, flowScale, "Injector size over speed, one line for each boost."))
	}
	for i := range s.Charts {
		s.Charts[i].Aside = true
	}
	if r.Idle != nil {
		s.Tables = append(s.Tables, idleTable(*r.Idle))
	}
	s.Tables = append(s.Tables, aside(defaultsTable(r.Defaults)))
	return s
}

var flowScale = tables.Scale{Title: "Static flow of an injector", Unit: "ml/min"}

func titled(what, name string) string {
	if name == "" {
		return what
	}
	return what + ": " + name
}

func (r SizeResult) answer() []string {
	s := r.Sets[0]
	out := []string{fmt.Sprintf("%s a static flow of %.0f ml/min (%.0f g/min) at %.4g kPa in %s at 15 °C; from %.0f to %.0f ml/min over the range of %s.",
		whoNeeds(s.Injectors, ""), r.InjectorFlow, r.InjectorMassFlow, r.AtPressure, r.Fuel, r.LowInjectorFlow, r.HighInjectorFlow, r.rangeOf())}
	if len(r.Sets) > 1 {
		out = append(out, fmt.Sprintf("%s %.0f ml/min; together they give %.0f %% of the fuel.", whoNeeds(r.Sets[1].Injectors, "secondary "), r.Sets[1].Flow, r.Sets[1].Share))
	}
	out = append(out, r.hopeful...)
	if r.Window > 0 {
		dead := "no dead time included"
		if r.DeadTime > 0 {
			dead = fmt.Sprintf("dead time of %.2f ms included", r.DeadTime)
		}
		out = append(out, fmt.Sprintf("At full load the pulse is %.2f ms of a window of %.2f ms, %s.", r.Pulse, r.Window, dead))
	}
	out = append(out, fmt.Sprintf("The pump must deliver %.0f l/h at %.4g kPa in the rail and at the lowest supply voltage; its free flow says nothing of that.", r.PumpFlow, r.PumpPressure))
	if r.Pump != "" {
		out = append(out, r.Pump)
	}
	if r.Idle != nil {
		out = append(out, r.Idle.String())
	}
	return out
}

func whoNeeds(n int, kind string) string {
	if n == 1 {
		return "The one " + kind + "injector needs"
	}
	return fmt.Sprintf("Each of %d %sinjectors needs", n, kind)
}

func (r SizeResult) rangeOf() string {
	if r.Paths[0].Name == "power" {
		return "consumption"
	}
	return "volumetric efficiency"
}

func (r SizeResult) facts() []tables.Fact {
	return []tables.Fact{
		{Name: "Fuel", Value: fmt.Sprintf("%s, %.1f kg/m³ at 15 °C, lambda %.2f", r.Fuel, r.Density, r.Lambda)},
		{Name: "Fuel of the whole engine", Value: fmt.Sprintf("%.0f g/min, %.1f l/h", r.EngineFuelMass, r.EngineFuelVolume)},
		{Name: "Duty limit", Value: fmt.Sprintf("%.4g %%", r.DutyLimit)},
		{Name: "Pressure across the injector", Value: fmt.Sprintf("%.4g kPa at full load", r.AcrossInjector)},
		defaultsFact(r.Defaults),
	}
}

func (r SizeResult) next() []string {
	return []string{
		"Measure the injectors chosen on a bench: static flow, dead time over voltage and pressure, and where they stop being linear.",
		"Then see what they leave at other speeds and boosts: injtab headroom --bench BENCH with the same flags.",
	}
}

func (r SizeResult) pathTable() tables.Table {
	var rows [][]string
	for _, p := range r.Paths {
		ve := "not known"
		if p.VE > 0 {
			ve = fmt.Sprintf("%.1f %%", p.VE)
		}
		rows = append(rows, []string{
			"by " + p.Name, fmt.Sprintf("%.0f ml/min", p.InjectorFlow),
			fmt.Sprintf("%.0f g/min (%.0f to %.0f)", p.FuelMass, p.LowFuelMass, p.HighFuelMass),
			fmt.Sprintf("%.1f g/s", p.Air), fmt.Sprintf("%.1f kW", p.Power), fmt.Sprintf("%.0f g/kWh", p.BSFC), ve,
		})
	}
	title := "Two ways to the fuel"
	if len(r.Paths) == 1 {
		title = "The way to the fuel"
	}
	return words("paths", title, "The first decides. By power: air is what the mixture then takes. By air: power is what the consumption then makes.",
		[]string{"way", "injector", "fuel of the engine", "air", "power", "consumption", "volumetric efficiency"}, rows)
}

func (r SizeResult) setTable() tables.Table {
	var rows [][]string
	for _, s := range r.Sets {
		rows = append(rows, []string{
			s.Name, fmt.Sprint(s.Injectors), fmt.Sprint(s.PulsesPerCycle), fmt.Sprintf("%.4g %%", s.Share),
			fmt.Sprintf("%.0f ml/min", s.Flow), fmt.Sprintf("%.0f to %.0f ml/min", s.LowFlow, s.HighFlow),
		})
	}
	return words("sets", "Sets of injectors", "", []string{"set", "injectors", "pulses in two turns", "share", "flow of each", "range"}, rows)
}

func (r SizeResult) dutyTable() tables.Table {
	key := func(c SizeCell) float64 { return c.BSFC + c.VE } // one of them is zero
	rows := axis{tables.Column{Name: "bsfc_g_kwh", Title: "Specific consumption", Unit: "g/kWh", UCUM: "g/kW/h", Decimals: 1}, sorted(r.ByDuty, key)}
	if r.ByDuty[0].VE > 0 {
		rows.Column = tables.Column{Name: "ve_pct", Title: "Volumetric efficiency", Unit: "%", UCUM: "%", Decimals: 1}
	}
	cols := axis{tables.Column{Name: "duty_pct", Title: "Duty limit", Unit: "%", UCUM: "%"}, sorted(r.ByDuty, func(c SizeCell) float64 { return c.Duty })}
	return grid("size_by_duty", "Injector size over "+strings.ToLower(rows.Title)+" and duty limit", flowAbout, rows, cols, 0, func(row, col float64) *float64 {
		return find(r.ByDuty, func(c SizeCell) bool { return same(key(c), row) && same(c.Duty, col) }).Flow
	})
}

const flowAbout = "Static flow of one injector in ml/min, quoted as in the answer."

func (r SizeResult) boostTable() tables.Table {
	rows, cols := speedAndBoost(sorted(r.ByBoost, func(c BoostCell) float64 { return c.RPM }), sorted(r.ByBoost, func(c BoostCell) float64 { return c.Boost }))
	return grid("size_by_boost", "Injector size over speed and boost", withStep(flowAbout+" Power follows the air; boost counts from the surrounding air.", r.step), rows, cols, 0, func(row, col float64) *float64 {
		return find(r.ByBoost, func(c BoostCell) bool { return same(c.RPM, row) && same(c.Boost, col) }).Flow
	})
}

func speedAndBoost(rpm, boost []float64) (rows, cols axis) {
	return axis{tables.Column{Name: "rpm", Title: "Speed", Unit: "rpm", UCUM: "/min"}, rpm},
		axis{tables.Column{Name: "boost_kpa", Title: "Boost", Unit: "kPa", UCUM: "kPa"}, boost}
}

func find[C any](cells []C, is func(C) bool) (found C) {
	for _, c := range cells {
		if is(c) {
			return c
		}
	}
	return found
}

func same(a, b float64) bool { return nearZero(a - b) }

// Notes are the warnings with their codes.
func (r SizeResult) Notes() []diag.Note { return r.notes }

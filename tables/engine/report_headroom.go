package engine

import (
	"fmt"

	"injtab/fit/diag"
	"injtab/tables"
)

// Report lays the headroom out for export: the answer first.
func (r HeadroomResult) Report() tables.Report {
	return tables.Report{
		Title:    titled("Duty headroom", r.title),
		Answer:   r.answer(),
		Facts:    r.facts(),
		Sections: []tables.Section{r.body()},
		Next:     []string{"Log duty, supply voltage and rail pressure on the road or the dynamometer and compare with this map."},
		Cautions: cautions(),
	}
}

// Section is the headroom as a part of a larger report.
func (r HeadroomResult) Section() tables.Section {
	s := r.body()
	s.Text = r.answer()
	return s
}

// body is the section without the answer, which a report of its own begins with.
func (r HeadroomResult) body() tables.Section {
	s := tables.Section{Name: "headroom", Heading: "Duty headroom", Notes: r.notes}
	duty := r.dutyMap()
	s.Tables = append(s.Tables, aside(r.loadTable()), duty, r.remedyTable())
	if len(r.Injectors) > 1 {
		s.Tables = append(s.Tables, aside(r.injectorTable()))
	}
	if r.Idle != nil {
		s.Tables = append(s.Tables, aside(idleTable(*r.Idle)))
	}
	s.Tables = append(s.Tables, aside(defaultsTable(r.Defaults)))
	chart := lines(duty, tables.Scale{Title: "Duty", Unit: "%"}, fmt.Sprintf("Duty rising with speed, one line for each boost, against the limit of %.4g %%.", r.Limit))
	chart.Marks = []tables.Mark{{Name: "limit", At: r.Limit}}
	s.Charts = append(s.Charts, chart)
	return s
}

func (r HeadroomResult) answer() []string {
	out := append([]string{r.Now.sentence("Now", r.Limit)}, r.hopeful...)
	if r.Target != nil {
		out = append(out, r.Target.sentence("At the target", r.Limit))
	}
	out = append(out, fmt.Sprintf("At %.4g %% duty, one thing changed at a time: %s.", r.Limit, r.ceilingText()))
	if len(r.Injectors) > 1 {
		out = append(out, fmt.Sprintf("Injector %s decides: it needs the longest pulse of the set.", r.Injector))
	}
	if r.Idle != nil {
		out = append(out, r.Idle.String())
	}
	return out
}

func (d Duties) sentence(when string, limit float64) string {
	verdict := fmt.Sprintf("%.1f points below the limit of %.4g %%", limit-d.Duty, limit)
	if d.Duty > limit*(1+1e-9) {
		verdict = fmt.Sprintf("%.1f points beyond the limit of %.4g %%", d.Duty-limit, limit)
	}
	return fmt.Sprintf("%s, at %.0f rpm, %.4g kPa boost and %.0f kW, the duty is %.1f %% (%.1f to %.1f %%): %.2f ms of a window of %.2f ms, %s.",
		when, d.RPM, d.Boost, d.Power, d.Duty, d.LowDuty, d.HighDuty, d.Pulse, d.Window, verdict)
}

func (r HeadroomResult) ceilingText() string {
	boost := orNone(r.MaxBoost, "%.0f kPa")
	if r.step != "" && r.MaxBoost != nil && *r.MaxBoost < 0.5 {
		boost += " (where the assumed consumption or mixture steps up)"
	}
	return fmt.Sprintf("highest boost %s, highest speed %s, highest power %s", boost, orNone(r.MaxRPM, "%.0f rpm"), orNone(r.MaxPower, "%.0f kW"))
}

func orNone(x *float64, format string) string {
	if x == nil {
		return "none"
	}
	return fmt.Sprintf(format, *x)
}

func (r HeadroomResult) facts() []tables.Fact {
	return []tables.Fact{
		{Name: "Injector", Value: r.Injector},
		{Name: "Fuel", Value: r.Fuel},
		{Name: "Duty limit", Value: fmt.Sprintf("%.4g %%", r.Limit)},
		{Name: "Supply voltage", Value: fmt.Sprintf("%.4g V", r.Voltage)},
		defaultsFact(r.Defaults),
	}
}

func (r HeadroomResult) loadTable() tables.Table {
	loads := []*Duties{&r.Now}
	header := []string{"", "now"}
	if r.Target != nil {
		loads, header = append(loads, r.Target), append(header, "target")
	}
	rows := [][]string{{"speed"}, {"boost"}, {"power at the crank"}, {"fuel"}, {"fuel of the engine"}, {"pressure across the injector"}, {"static flow there"}, {"supply voltage"}, {"dead time"}, {"window"}, {"pulse"}, {"duty"}, {"duty, range"}}
	for _, d := range loads {
		for i, text := range []string{
			fmt.Sprintf("%.0f rpm", d.RPM), fmt.Sprintf("%.4g kPa", d.Boost), fmt.Sprintf("%.1f kW", d.Power), d.Fuel,
			fmt.Sprintf("%.0f g/min", d.FuelMass), fmt.Sprintf("%.4g kPa", d.AcrossInjector), fmt.Sprintf("%.1f ml/min", d.Flow),
			fmt.Sprintf("%.4g V", r.Voltage), fmt.Sprintf("%.3f ms", d.DeadTime), fmt.Sprintf("%.2f ms", d.Window), fmt.Sprintf("%.2f ms", d.Pulse),
			fmt.Sprintf("%.1f %%", d.Duty), fmt.Sprintf("%.1f to %.1f %%", d.LowDuty, d.HighDuty),
		} {
			rows[i] = append(rows[i], text)
		}
	}
	header[0] = "quantity"
	return words("load", "Load on the leanest injector", "The range of duty covers that of the fuel and the uncertainty of the flow.", header, rows)
}

func (r HeadroomResult) dutyMap() tables.Table {
	rows, cols := speedAndBoost(sorted(r.Grid, func(c DutyCell) float64 { return c.RPM }), sorted(r.Grid, func(c DutyCell) float64 { return c.Boost }))
	about := withStep(fmt.Sprintf("Per cent of the window; the limit is %.4g %%. Empty where nothing drives fuel through the injector. Power follows the air.", r.Limit), r.step)
	return grid("duty", "Duty over speed and boost", about, rows, cols, 1, func(row, col float64) *float64 {
		return find(r.Grid, func(c DutyCell) bool { return same(c.RPM, row) && same(c.Boost, col) }).Duty
	})
}

func (r HeadroomResult) remedyTable() tables.Table {
	rows := make([][]string, len(r.Remedies))
	for i, m := range r.Remedies {
		rows[i] = []string{m.Name, orNone(m.Duty, "%.1f %%"), orNone(m.MaxPower, "%.0f kW"), orNone(m.MaxBoost, "%.0f kPa"), m.Mind}
	}
	about := "One change at a time, in the present condition."
	if r.Target != nil {
		about = "One change at a time, at the target."
	}
	return words("remedies", "What each remedy buys", about, []string{"remedy", "duty", "highest power", "highest boost", "mind"}, rows)
}

func (r HeadroomResult) injectorTable() tables.Table {
	rows := make([][]string, len(r.Injectors))
	for i, d := range r.Injectors {
		rows[i] = []string{d.Injector, fmt.Sprintf("%.1f ml/min", d.Flow), fmt.Sprintf("%.3f ms", d.DeadTime), fmt.Sprintf("%.2f %%", d.Duty)}
	}
	return words("set", "Each injector now", "", []string{"injector", "flow across it", "dead time", "duty"}, rows)
}

// Notes are the warnings with their codes.
func (r HeadroomResult) Notes() []diag.Note { return r.notes }

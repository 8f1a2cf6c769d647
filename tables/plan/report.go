package plan

import (
	"fmt"
	"strings"

	"injtab/fit/diag"
	"injtab/fit/unit"
	"injtab/tables"
)

// Report lays the plan out for export: the answer first.
func (p Plan) Report() tables.Report {
	title := "Bench session"
	if p.job.Title != "" {
		title += ": " + p.job.Title
	}
	return tables.Report{
		Title: title, Answer: p.answer(), Facts: p.facts(),
		Sections: []tables.Section{p.yieldSection(), p.pointSection(), p.orderSection()},
		Next:     p.next(), Cautions: tables.BenchCautions(),
	}
}

func (p Plan) answer() []string {
	out := []string{fmt.Sprintf("%d points in %d runs and %d seatings take %.1f hours; %.3g l pass the injectors.",
		len(p.Points), p.Runs, p.Seatings, p.BenchTime/60, p.Fluid)}
	verdict := fmt.Sprintf("The target of %.3g %% is met everywhere.", p.TargetPct)
	if p.Missed >= nothingKnown {
		verdict = "There is too little time: something that the tables need would not be known at all. Give more bench time, or compare alone (--purpose match)."
	} else if !p.Met {
		verdict = fmt.Sprintf("The target of %.3g %% is missed by a factor of %.2g at the worst place.", p.TargetPct, p.Missed)
	}
	rival := fmt.Sprintf("As far as the gauges allow, the least sure figure of the tables is %.2f times as uncertain as aimed at; with points spread evenly over the same time it would be %.2f times.", p.Worst, p.Even.Worst)
	switch {
	case p.Missed >= nothingKnown:
		return append(out, verdict)
	case p.Even.Taken:
		rival = "Points are spread evenly: no other choice was found to be better in this time."
	case p.Even.Worst >= nothingKnown:
		rival = "Points spread evenly over the same time could not even be fitted."
	}
	return append(out, verdict, rival)
}

func (p Plan) facts() []tables.Fact {
	j := p.job
	vessel := fmt.Sprintf("%.4g ml to the top mark, division %.3g ml, tolerance %.3g ml", j.vessel.TopMark.Ml(), j.vessel.Division.Ml(), j.vessel.Tolerance.Ml())
	if j.weighed {
		vessel = fmt.Sprintf("scale, step %.3g g, beaker of %.4g g", j.Scale.Step.Grams(), j.Scale.Capacity.Grams())
	}
	facts := []tables.Fact{
		{Name: "Purpose", Value: map[Purpose]string{Match: "compare injectors", Map: "map dead time and flow", Both: "compare and map"}[p.Purpose]},
		{Name: "Injectors", Value: fmt.Sprintf("%d on %d slots", j.Number, j.Slots)},
		{Name: "Expected static flow", Value: fmt.Sprintf("%.4g ml/min at %.4g kPa", j.expect.Flow.MlMin(), j.RatedPressure.KPa())},
		{Name: "Expected dead time", Value: fmt.Sprintf("%.2f ms at %.4g kPa, %.4g V", j.expect.DeadTimeAt(j.RatedPressure, j.RatedPressure, defaultVoltage).Ms(), j.RatedPressure.KPa(), defaultVoltage)},
		{Name: "Period", Value: fmt.Sprintf("%.4g ms; longest pulse %.4g ms (%.0f %% duty at most, %.3g ms to close)", j.period.Ms(), j.longest.Ms(), 100*topDuty, j.least.Ms())},
		{Name: "Vessel", Value: vessel},
		{Name: "Fill", Value: fmt.Sprintf("%.4g ml expected at most, so that none runs over its top mark", j.fill.Ml())},
		{Name: "Pressures", Value: listed(j.pressures, unit.Pressure.KPa) + " kPa"},
		{Name: "Voltages", Value: listed(j.voltages, unit.Voltage.V) + " V"},
		{Name: "Limits of error", Value: fmt.Sprintf("gauge %.3g %%, voltmeter %.3g %%, timer %.3g µs", j.PressureLimit.Pct(), j.VoltageLimit.Pct(), 1e3*j.TimerLimit.Ms())},
		{Name: "Uncertainties", Value: "standard ones; twice as much holds 95 % of the cases"},
	}
	return facts
}

func listed[Q any](list []Q, of func(Q) float64) string {
	texts := make([]string, len(list))
	for i, x := range list {
		texts[i] = fmt.Sprintf("%.4g", of(x))
	}
	return strings.Join(texts, ", ")
}

func (p Plan) pointSection() tables.Section {
	s := tables.Section{Name: "points", Heading: "Points", Notes: p.Notes, Tables: []tables.Table{p.pointTable()}}
	s.Text = []string{"How full a vessel gets follows from the target: short pulses are allowed more, because errors of time weigh more the shorter the pulse."}
	for _, x := range p.Points {
		if x.Kind == leak {
			s.Text = append(s.Text, fmt.Sprintf("The leak test under %.4g kPa shows leaks from about %.2g ml/min.", x.Pressure, p.job.smallestLeak(p.job.leakTest()).MlMin()))
		}
		if x.Kind == opening {
			s.Text = append(s.Text, "The opening test lowers the voltage with long pulses until nothing comes; the lowest cells of the dead-time table hang on it. Write 0 where nothing came.")
			break
		}
	}
	return s
}

func (p Plan) pointTable() tables.Table {
	number := func(name, title, symbol, ucum, about string, decimals int) tables.Column {
		return tables.Column{Name: name, Title: title, Unit: symbol, UCUM: ucum, Decimals: decimals, About: about}
	}
	t := tables.Table{
		Name: "points", Title: "Points", Corner: "point",
		Row: tables.Column{Name: "point", Title: "Point", About: "Number of the point, in the order of the runs."},
		Cols: []tables.Column{
			{Name: "kind", Title: "Kind", Text: true, About: "pulsed, held open, leak or opening test."},
			number("pulse_ms", "Pulse", "ms", "ms", "Commanded on-time.", 2),
			number("period_ms", "Period", "ms", "ms", "Time from one pulse to the next.", 2),
			number("pressure_kpa", "Pressure", "kPa", "kPa", "Rail pressure above that at the nozzle.", 1),
			number("voltage_v", "Voltage", "V", "V", "At the injector while it is driven.", 2),
			number("shots", "Shots", "", "", "Number of pulses; of a leak test, periods.", 0),
			number("duration_s", "Run time", "s", "s", "Shots times period.", 1),
			number("expected_ml", "Expected", "ml", "mL", "Volume of one reading.", 1),
			number("expected_uncertainty_pct", "One reading", "%", "%", "Standard uncertainty of the delivered fuel by one reading.", 2),
			number("fitted_uncertainty_pct", "After the fit", "%", "%", "Standard uncertainty of the delivered fuel after the session.", 2),
			number("dead_time_uncertainty_us", "Dead time", "µs", "us", "Standard uncertainty of the dead time here after the session.", 1),
			number("times", "Runs", "", "", "How often the point is run in the session.", 0),
			{Name: "who", Title: "Injectors", Text: true, About: "Who takes part."},
		},
	}
	for i, x := range p.Points {
		t.RowAt = append(t.RowAt, float64(i+1))
		t.Cells = append(t.Cells, p.pointRow(x))
	}
	return t
}

func value(v float64) tables.Cell { return tables.Cell{Value: v} }

// told is a cell that is empty where there is nothing to tell.
func told(v float64) tables.Cell {
	if v <= 0 {
		return tables.Cell{Status: diag.NotMeasured}
	}
	return value(v)
}

func (p Plan) pointRow(x Point) []tables.Cell {
	who := "first seating"
	if x.Everyone {
		who = "all"
	}
	return []tables.Cell{
		{Text: strings.ReplaceAll(x.Kind, "_", " ")}, value(x.Pulse), value(x.Period), value(x.Pressure), value(x.Voltage),
		value(float64(x.Shots)), value(x.Duration), told(x.Expected), told(x.Uncertainty), told(x.Fitted), told(x.DeadTimeUs),
		value(float64(x.Times)), {Text: who},
	}
}

func (p Plan) orderSection() tables.Section {
	t := tables.Table{
		Name: "order", Title: "Order of runs", Corner: "run", Aside: true,
		About: "Which injector sits in which slot; the vessel keeps the slot's number.",
		Row:   tables.Column{Name: "run", Title: "Run"},
		Cols:  []tables.Column{{Name: "seating", Title: "Seating"}, {Name: "point", Title: "Point"}},
	}
	for slot := range p.job.Slots {
		t.Cols = append(t.Cols, tables.Column{Name: fmt.Sprintf("slot_%d", slot+1), Title: fmt.Sprintf("Slot %d", slot+1), Text: true})
	}
	for _, r := range p.Order {
		row := make([]tables.Cell, len(t.Cols))
		row[0], row[1] = value(float64(r.Seating)), value(float64(r.Point+1))
		for _, s := range r.Slots {
			row[1+s.Slot].Text = s.Injector
		}
		t.RowAt = append(t.RowAt, float64(r.Run))
		t.Cells = append(t.Cells, row)
	}
	return tables.Section{Name: "order", Heading: "Order of runs", Text: p.Seating, Tables: []tables.Table{t}}
}

func (p Plan) yieldSection() tables.Section {
	t := tables.Table{
		Name: "yield", Title: "What the session yields", Corner: "quantity",
		About: "The least sure of each kind, with its standard uncertainty.",
		Row:   tables.Column{Name: "quantity", Title: "Quantity", Text: true},
		Cols: []tables.Column{
			{Name: "at", Title: "Where", Text: true}, {Name: "unit", Title: "Unit", Text: true},
			{Name: "aim", Title: "Aimed at", Decimals: 2}, {Name: "random", Title: "By chance", Decimals: 2},
			{Name: "gauges", Title: "By gauges", Decimals: 2}, {Name: "uncertainty", Title: "Both", Decimals: 2},
			{Name: "even_plan", Title: "Even plan", Decimals: 2},
		},
	}
	for _, y := range p.Yield {
		t.RowText = append(t.RowText, y.Quantity)
		t.Cells = append(t.Cells, []tables.Cell{{Text: y.At}, {Text: strings.Replace(y.Unit, "us", "µs", 1)}, value(y.Aim), value(y.Random), value(y.Gauges), value(y.Both), told(y.Even)})
	}
	return tables.Section{Name: "yield", Heading: "What the session yields", Tables: []tables.Table{t},
		Text: []string{"By chance: what another session with the same gauges would differ by; more runs help. By gauges: limits of gauge, voltmeter, timer and vessels; more runs do not."}}
}

func (p Plan) next() []string {
	return []string{
		"Fill the vessels to wet them, drain them, and let the fluid reach bench temperature before the first run.",
		"Set pressure and voltage while the injectors run, not before.",
		"Write every amount into the workbook as it is read; 0 where nothing came, nothing where it was not run.",
		"Compare the check sheet after every run: a reading far from the expected one is best repeated at once.",
		"Run check and fit on the workbook when it is filled in.",
	}
}

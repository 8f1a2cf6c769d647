package main

import (
	"injtab/export"
	"injtab/fit/unit"
	"injtab/tables"
	"injtab/tables/engine"
)

// pulseSheet asks for a point and gives the pulse by the rule of the tables, step
// by step, and the duty at a speed.
func pulseSheet(set tables.Set, t lookedUp) export.Calculation {
	return export.Calculation{
		Name: "fuel to pulse", Title: "From fuel to pulse",
		Text: []string{"Type a point into the framed cells. The steps are those of an ECU that uses the percentage with the added time; the sheets of the tables are looked up live, so an edit there shows here."},
		Entries: []export.Entry{
			{Label: "What is wanted"},
			{Label: "Supply voltage", Name: "in_voltage", Unit: "V", Decimals: 2, Input: true, Number: set.ReferenceV, Min: 0, Max: 60, About: "At the injector."},
			{Label: "Pressure across the injector", Name: "in_pressure", Unit: "kPa", Decimals: 1, Input: true, Number: set.ReferenceP, Min: 0, Max: 2000},
			{Label: "Fuel in one shot", Name: "in_fuel", Unit: "ml", Decimals: 5, Input: true, Number: set.SampleFuel(), Min: 0, Max: 10},
			{Label: "Injector", Name: "in_injector", Text: t.trims.Cells[0][0].Text, From: export.ColumnName(t.trims, t.trims.Cols[0])},
			{Label: "Speed", Name: "in_rpm", Unit: "1/min", Input: true, Number: 6000, Min: 1, Max: 25000, About: "One shot in two turns."},
			{Label: "What comes of it"},
			derived("pulse_ms", "Pulse", "ms", 3, "u_trimmed+short_here+dead_here+added_here", func(k known) float64 {
				return tables.Sum(k.of("u_trimmed"), k.of("short_here"), k.of("dead_here"), k.of("added_here"))
			}),
			derived("window_ms", "Time between two shots", "ms", 3, "120000/in_rpm", func(k known) float64 { return engine.Window(k.of("in_rpm"), 1).Ms() }),
			derived("duty_pct", "Duty", "%", 1, "100*pulse_ms/window_ms", func(k known) float64 {
				return engine.Duty(unit.Ms(k.of("pulse_ms")), unit.Ms(k.of("window_ms"))).Pct()
			}),
		},
		Steps: pulseSteps(t),
	}
}

func pulseSteps(t lookedUp) (e []export.Entry) {
	e = append(e, export.Entry{Label: "From fuel to effective pulse"})
	e = append(e, export.LookupList("flow_here", "Static flow", t.flow, 0, "in_pressure")...)
	e = append(e, export.LookupText("trim_here", "Trim", t.trims, columnOf(t.trims, "flow_trim_pct"), 0, "in_injector"),
		derived("u_wanted", "Effective pulse", "ms", 4, "60000*in_fuel/flow_here", func(k known) float64 { return tables.Effective(k.of("in_fuel"), k.of("flow_here")) }),
		derived("u_trimmed", "With the trim", "ms", 4, "u_wanted*(1+trim_here/100)", func(k known) float64 { return tables.Trimmed(k.of("u_wanted"), k.of("trim_here")) }),
		export.Entry{Label: "What is added"})
	e = append(e, export.LookupList("short_here", "Short-pulse correction", t.short, 0, "u_trimmed")...)
	e = append(e, export.Lookup("dead_here", "Dead time", t.dead, "in_voltage", "in_pressure")...)
	return append(e, export.LookupText("added_here", "Added time", t.trims, columnOf(t.trims, "dead_time_trim_ms"), 0, "in_injector"))
}

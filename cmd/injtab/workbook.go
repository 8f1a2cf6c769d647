package main

import (
	"bytes"

	"injtab/export"
	"injtab/fit/unit"
	"injtab/tables"
	"injtab/tables/engine"
)

// workbook is tables.xlsx: what the tables are, the tables with a chart each, and a
// sheet that looks a pulse up.
func workbook(s session, r tables.SetResult, set tables.Set, about tables.Table) (export.NamedFile, error) {
	report := r.Report()
	report.Title = "Tables: " + title(s)
	report.Sections = []tables.Section{{Name: "warnings", Heading: "Warnings", Notes: r.Notes()}}
	report.Sections = append(report.Sections, r.Sheets()...)
	report.Sections = append(report.Sections, tables.Section{Name: about.Name, Heading: about.Title, Tables: []tables.Table{about}})
	var calcs []export.Calculation
	if c, ok := pulseSheet(set); ok {
		calcs = append(calcs, c)
	}
	var buf bytes.Buffer
	err := export.Workbook(&buf, report, calcs)
	return export.NamedFile{Name: workbookName, Data: buf.Bytes()}, err
}

const workbookName = "tables.xlsx"

// pulseSheet asks for a point and gives the pulse by the rule of the tables, step
// by step, and the duty at a speed.
func pulseSheet(set tables.Set) (export.Calculation, bool) {
	flow, _ := set.Find("flow")
	dead, _ := set.Find("dead_time")
	short, _ := set.Find("short_pulse")
	trims, ok := set.Find("trims")
	if !ok || trims.Rows() == 0 {
		return export.Calculation{}, false
	}
	e := []export.Entry{
		{Label: "What is wanted"},
		{Label: "Supply voltage", Name: "in_voltage", Unit: "V", Decimals: 2, Input: true, Number: set.ReferenceV, Min: 0, Max: 60},
		{Label: "Pressure across the injector", Name: "in_pressure", Unit: "kPa", Decimals: 1, Input: true, Number: set.ReferenceP, Min: 0, Max: 2000},
		{Label: "Fuel in one shot", Name: "in_fuel", Unit: "ml", Decimals: 5, Input: true, Number: set.SampleFuel(), Min: 0, Max: 10},
		{Label: "Injector", Name: "in_injector", Text: trims.Cells[0][0].Text, From: export.ColumnName(trims, trims.Cols[0])},
		{Label: "Speed", Name: "in_rpm", Unit: "1/min", Input: true, Number: 6000, Min: 1, Max: 25000, About: "One shot in two turns."},
		{Label: "From fuel to effective pulse"},
	}
	e = append(e, export.LookupList("flow_here", "Static flow", flow, 0, "in_pressure")...)
	e = append(e, export.LookupText("trim_here", "Trim", trims, columnOf(trims, "flow_trim_pct"), 0, "in_injector"),
		step("u_wanted", "Effective pulse", "60000*in_fuel/flow_here", func(k known) float64 { return tables.Effective(k.of("in_fuel"), k.of("flow_here")) }),
		step("u_trimmed", "With the trim", "u_wanted*(1+trim_here/100)", func(k known) float64 { return tables.Trimmed(k.of("u_wanted"), k.of("trim_here")) }),
		export.Entry{Label: "What is added"})
	e = append(e, export.LookupList("short_here", "Short-pulse correction", short, 0, "u_trimmed")...)
	e = append(e, export.Lookup("dead_here", "Dead time", dead, "in_voltage", "in_pressure")...)
	e = append(e, export.LookupText("added_here", "Added time", trims, columnOf(trims, "dead_time_trim_ms"), 0, "in_injector"),
		export.Entry{Label: "Result"},
		step("pulse_ms", "Pulse", "u_trimmed+short_here+dead_here+added_here", func(k known) float64 {
			return tables.Sum(k.of("u_trimmed"), k.of("short_here"), k.of("dead_here"), k.of("added_here"))
		}),
		step("window_ms", "Time between two shots", "120000/in_rpm", func(k known) float64 { return engine.Window(k.of("in_rpm"), 1).Ms() }),
		dutyStep())
	return export.Calculation{
		Name: "fuel to pulse", Title: "From fuel to pulse",
		Text:    []string{"Type a point into the framed cells. The steps are those of an ECU that uses the percentage with the added time; the sheets of the tables are looked up live, so an edit there shows here."},
		Entries: e,
	}, true
}

// known are the entries above one of a calculation.
type known map[string]export.Entry

func (k known) of(name string) float64 { return k[name].Number }

func step(name, label, formula string, value func(known) float64) export.Entry {
	return export.Entry{Label: label, Name: name, Unit: "ms", Decimals: 4, Formula: formula,
		Value: func(k map[string]export.Entry) float64 { return value(k) }}
}

func dutyStep() export.Entry {
	return export.Entry{Label: "Duty", Name: "duty_pct", Unit: "%", Decimals: 1, Formula: "100*pulse_ms/window_ms",
		Value: func(k map[string]export.Entry) float64 {
			return engine.Duty(unit.Ms(k["pulse_ms"].Number), unit.Ms(k["window_ms"].Number)).Pct()
		}}
}

// columnOf finds a column by its header; the tables always have those asked for.
func columnOf(t tables.Table, name string) int {
	for i, c := range t.Cols {
		if c.Name == name {
			return i
		}
	}
	panic("injtab: table " + t.Name + " has no column " + name)
}

package main

import (
	"injtab/export"
	"injtab/fit/fluid"
	"injtab/fit/unit"
	"injtab/tables"
	"injtab/tables/engine"
)

// headroomSheet asks for an engine's load and gives what one shot must deliver, the
// pulse for it by the rule of the tables, and what is left up to the duty limit.
func headroomSheet(set tables.Set, t lookedUp, start engine.Condition) export.Calculation {
	e := append([]export.Entry{{Label: "The engine"}}, engineEntries(start)...)
	e = append(e, export.Entry{Label: "The injectors"})
	e = append(e, injectorEntries(set, t, start)...)
	e = append(e, export.Entry{Label: "What comes of it"})
	e = append(e, verdictEntries()...)
	e = append(e, headroomResults()...)
	fuels := tables.Fuels(start.Fuel)
	return export.Calculation{
		Name: "headroom", Title: "Duty headroom: what if",
		Text: []string{
			"Change a framed cell and see what becomes of the duty. The sheets of the tables are looked up live, as an ECU does that uses the percentage with the added time.",
			"A start value that is marked assumed says nothing of your engine: type your own.",
		},
		Entries: e, Steps: headroomSteps(t, fuels), Lists: []tables.Table{fuels},
	}
}

// startOf is the engine that the sheet begins with: the one given, else a supposed
// one that suits the injectors.
func startOf(set tables.Set, t lookedUp, in *engine.Inputs) (engine.Condition, error) {
	if in != nil {
		return engine.ConditionOf(*in)
	}
	supposed := engine.Inputs{Pressure: unit.KPa(set.ReferenceP), Voltage: unit.Volts(set.ReferenceV)}
	if set.InFuel {
		supposed.Fuel = set.Liquid
	}
	flow := unit.MlMin(t.flow.Cells[t.flow.Rows()-1][0].Value)
	return engine.Supposed(supposed, cylindersOf(t.trims), fluid.MassFlow(flow, densityOf(set)))
}

// cylindersOf counts the injectors that have a seat; where none has, all, or four of
// a pile.
func cylindersOf(trims tables.Table) (n int) {
	for _, cylinder := range trims.RowText {
		if cylinder != "" {
			n++
		}
	}
	switch {
	case n > 0:
		return n
	case trims.Rows() > 12:
		return 4
	}
	return trims.Rows()
}

// densityOf is that of the tables' liquid, or, where it is not known, about that of
// gasoline at 15 °C (common practice, no source); the sheet marks it as assumed.
func densityOf(set tables.Set) unit.Density {
	if set.Density > 0 {
		return set.Density
	}
	return 745
}

func engineEntries(start engine.Condition) []export.Entry {
	bsfc := unit.Consumptions.As(start.BSFC, "g/kWh")
	return []export.Entry{
		{Label: "Power", Name: "room_power", Unit: "kW", Decimals: 1, Input: true, Number: start.Power.KW(), Min: 0.1, Max: 5000, Assumed: start.Assumed("power"), About: "At the crank."},
		{Label: "Consumption (BSFC)", Name: "room_bsfc", Unit: "g/kWh", Decimals: 1, Input: true, Number: bsfc, Min: 100, Max: 1500, Assumed: start.Assumed("bsfc"), About: "At that power, at full load."},
		{Label: "That consumption is of", Name: "room_bsfc_fuel", Text: start.Fuel.Name, From: "fuels_rows", About: "The fuel that the figure above was found with."},
		{Label: "Fuel", Name: "room_fuel", Text: start.Fuel.Name, From: "fuels_rows", Assumed: start.Assumed("fuel"), About: "Fuels are listed at the bottom; another density can be typed in there."},
		{Label: "Speed", Name: "room_rpm", Unit: "1/min", Input: true, Number: start.RPM, Min: 1, Max: 25000, Assumed: start.Assumed("rpm")},
	}
}

func injectorEntries(set tables.Set, t lookedUp, start engine.Condition) []export.Entry {
	density := export.Entry{Label: "Density of the tables' liquid", Name: "room_density", Unit: "kg/m³", Decimals: 2, Input: true, Number: densityOf(set).KgM3(), Min: 400, Max: 1200,
		About: "Flows of this workbook are of " + liquidOf(set) + "."}
	if set.Density <= 0 {
		density.Assumed = "the session names no fluid"
	}
	return []export.Entry{
		{Label: "Injectors", Name: "room_injectors", Input: true, Number: float64(start.Injectors), Min: 1, Max: 64, Assumed: start.Assumed("injectors")},
		{Label: "Shots of each in two turns", Name: "room_shots", Input: true, Number: float64(start.PulsesPerCycle), Min: 1, Max: 16},
		{Label: "Fuel that goes through them", Name: "room_share", Unit: "%", Decimals: 1, Input: true, Number: start.Share.Pct(), Min: 1, Max: 100, About: "Less than all where a second set of injectors helps."},
		{Label: "Injector", Name: "room_injector", Text: leanest(t.trims), From: export.ColumnName(t.trims, t.trims.Cols[0]), About: "It starts with the one that flows least: that one decides."},
		{Label: "Pressure across the injector", Name: "room_pressure", Unit: "kPa", Decimals: 1, Input: true, Number: start.Across.KPa(), Min: 1, Max: 2000,
			Assumed: start.Assumed("pressure"), About: "The rail's gauge pressure with a regulator on the manifold; with a fixed one less the boost."},
		{Label: "Supply voltage", Name: "room_voltage", Unit: "V", Decimals: 2, Input: true, Number: start.Voltage.V(), Min: 0, Max: 60, Assumed: start.Assumed("voltage"), About: "At the injector."},
		density,
		{Label: "Duty limit", Name: "room_limit", Unit: "%", Decimals: 1, Input: true, Number: start.Duty.Pct(), Min: 1, Max: 100, Assumed: start.Assumed("duty")},
	}
}

func liquidOf(set tables.Set) string {
	switch {
	case set.Liquid.Title != "":
		return set.Liquid.Title
	case set.Liquid.Name != "":
		return set.Liquid.Name
	}
	return "the bench fluid"
}

// leanest is the injector with the greatest trim, of equals the first.
func leanest(trims tables.Table) string {
	c, most := columnOf(trims, "flow_trim_pct"), 0
	for r, row := range trims.Cells {
		if row[c].Value > trims.Cells[most][c].Value {
			most = r
		}
	}
	return trims.Cells[most][0].Text
}

func headroomResults() []export.Entry {
	return []export.Entry{
		derived("room_shot", "Fuel in one shot", "mg", 2, "room_mg", func(k known) float64 { return k.of("room_mg") }),
		derived("room_cycle", "Time between two shots", "ms", 3, "room_window", func(k known) float64 { return k.of("room_window") }),
		derived("room_pulse", "Pulse", "ms", 3, "room_u+room_short+room_dead+room_added", func(k known) float64 {
			return tables.Sum(k.of("room_u"), k.of("room_short"), k.of("room_dead"), k.of("room_added"))
		}),
		derived("room_duty", "Duty", "%", 1, "100*room_pulse/room_window", func(k known) float64 {
			return engine.Duty(unit.Ms(k.of("room_pulse")), unit.Ms(k.of("room_window"))).Pct()
		}),
		derived("room_left", "Headroom to the limit", "points", 1, "room_limit-room_duty", func(k known) float64 { return k.of("room_limit") - k.of("room_duty") }),
		derived("room_most", "Power at the limit", "kW", 1, "MAX(0,room_power*room_u_limit/room_u)", func(k known) float64 {
			return max(0, k.of("room_power")*k.of("room_u_limit")/k.of("room_u"))
		}),
	}
}

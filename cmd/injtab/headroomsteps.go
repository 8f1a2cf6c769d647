package main

import (
	"math"
	"slices"
	"strings"

	"injtab/export"
	"injtab/fit/fluid"
	"injtab/fit/unit"
	"injtab/tables"
	"injtab/tables/engine"
)

// headroomSteps lead from the engine's power to the pulse.
func headroomSteps(t lookedUp, fuels tables.Table) []export.Entry {
	return slices.Concat(fuelSteps(fuels), flowSteps(t, fuels), addedSteps(t), limitSteps(t))
}

func fuelSteps(fuels tables.Table) []export.Entry {
	stoich := columnOf(fuels, "stoichiometric_ratio")
	return []export.Entry{
		{Label: "From power to fuel"},
		export.LookupText("room_stoich_known", "Air to fuel, of the consumption's fuel", fuels, stoich, -1, "room_bsfc_fuel"),
		export.LookupText("room_stoich", "Air to fuel, of the fuel", fuels, stoich, -1, "room_fuel"),
		derived("room_bsfc_here", "Consumption with the fuel", "g/kWh", 2, "room_bsfc*room_stoich_known/room_stoich", func(k known) float64 {
			from, to := fluid.Fluid{Stoich: k.of("room_stoich_known")}, fluid.Fluid{Stoich: k.of("room_stoich")}
			return unit.Consumptions.As(engine.ScaleConsumption(unit.Consumptions.In(k.of("room_bsfc"), "g/kWh"), from, to), "g/kWh")
		}),
		derived("room_fuel_flow", "Fuel of the engine", "g/min", 2, "room_power*room_bsfc_here/60", func(k known) float64 {
			return engine.FuelFromPower(unit.Powers.In(k.of("room_power"), "kW"), unit.Consumptions.In(k.of("room_bsfc_here"), "g/kWh")).GMin()
		}),
		derived("room_window", "Time between two shots", "ms", 4, "120000/(room_rpm*room_shots)", func(k known) float64 {
			return engine.Window(k.of("room_rpm"), int(k.of("room_shots"))).Ms()
		}),
		derived("room_mg", "Fuel in one shot", "mg", 4, "room_fuel_flow*room_share/100/room_injectors*room_window/60", func(k known) float64 {
			fuel := unit.MassFlows.In(k.of("room_fuel_flow")*k.of("room_share")/100, "g/min")
			return engine.FuelPerPulse(fuel, unit.Ms(k.of("room_window")), int(k.of("room_injectors"))).Mg()
		}),
	}
}

// flowSteps give the effective pulse. What an injector delivers of the fuel is known
// from the tables' liquid by the law of the orifice.
func flowSteps(t lookedUp, fuels tables.Table) []export.Entry {
	e := []export.Entry{
		{Label: "From fuel to effective pulse"},
		export.LookupText("room_fuel_density", "Density of the fuel", fuels, columnOf(fuels, "density_kg_m3"), -1, "room_fuel"),
		derived("room_ml", "Volume of one shot", "ml", 6, "room_mg/room_fuel_density", func(k known) float64 {
			return unit.Mass(k.of("room_mg") / 1e6).Of(unit.Density(k.of("room_fuel_density"))).Ml()
		}),
		derived("room_ml_tables", "As much of the tables' liquid", "ml", 6, "room_ml*SQRT(room_fuel_density/room_density)", func(k known) float64 {
			return k.of("room_ml") / fluid.VolumeFactor(unit.Density(k.of("room_density")), unit.Density(k.of("room_fuel_density")))
		}),
	}
	e = append(e, export.LookupList("room_flow", "Static flow", t.flow, 0, "room_pressure")...)
	return append(e,
		export.LookupBasis("room_flow_basis", "Static flow rests on", t.flow, 0, "room_flow"),
		export.LookupText("room_trim", "Trim", t.trims, columnOf(t.trims, "flow_trim_pct"), 0, "room_injector"),
		derived("room_u", "Effective pulse, trimmed", "ms", 4, "60000*room_ml_tables/room_flow*(1+room_trim/100)", func(k known) float64 {
			return tables.Trimmed(tables.Effective(k.of("room_ml_tables"), k.of("room_flow")), k.of("room_trim"))
		}))
}

func addedSteps(t lookedUp) (e []export.Entry) {
	e = append(e, export.Entry{Label: "What is added"})
	e = append(e, export.LookupList("room_short", "Short-pulse correction", t.short, 0, "room_u")...)
	e = append(e, export.LookupBasis("room_short_basis", "Short-pulse correction rests on", t.short, 0, "room_short"))
	e = append(e, export.Lookup("room_dead", "Dead time", t.dead, "room_voltage", "room_pressure")...)
	return append(e, export.LookupBasis("room_dead_basis", "Dead time rests on", t.dead, 0, "room_dead"),
		export.LookupText("room_added", "Added time", t.trims, columnOf(t.trims, "dead_time_trim_ms"), 0, "room_injector"))
}

// limitSteps find what the injector must not be asked for, where the session could
// tell, and the longest effective pulse up to the duty limit.
func limitSteps(t lookedUp) (e []export.Entry) {
	e = []export.Entry{{Label: "Up to the limits"}}
	for _, x := range [][3]string{{"room_smallest", "Smallest dependable fuel, 0: not known", "smallest_fuel_ml"}, {"room_closing", "Least time off, 0: not known", "closing_time_ms"}} {
		e = append(e, export.LookupText(x[0], x[1], t.limits, columnOf(t.limits, x[2]), -1, "room_injector").OrZero())
	}
	e = append(e, derived("room_open", "Longest pulse less dead time", "ms", 4, "room_limit/100*room_window-room_dead-room_added", func(k known) float64 {
		longest := float64(unit.Ratio(k.of("room_limit")/100)) * k.of("room_window")
		return tables.Sum(longest, -k.of("room_dead"), -k.of("room_added"))
	}))
	e = append(e, export.LookupList("room_short_limit", "Short-pulse correction there", t.short, 0, "room_open")...)
	return append(e,
		derived("room_u_limit", "Effective pulse at the duty limit", "ms", 4, "room_open-room_short_limit", func(k known) float64 { return k.of("room_open") - k.of("room_short_limit") }),
		outside(t))
}

// outside says which inputs lie beyond the axes of the tables, by the tolerances of
// tables.ECU.Inside.
func outside(t lookedUp) export.Entry {
	shortest := t.short.RowAt[0]
	return export.Entry{
		Label: "Outside the tables", Name: "room_outside", Step: true,
		Formula: `TRIM(IF(OR(ABS(room_pressure-room_flow_row_held)>0.01*room_pressure,ABS(room_pressure-room_dead_column_held)>0.01*room_pressure),"pressure ","")` +
			`&IF(ABS(room_voltage-room_dead_row_held)>0.1,"voltage ","")&IF(room_u<0.98*MIN(short_pulse_rows),"short pulse",""))`,
		Says: func(k map[string]export.Entry) string {
			var list []string
			p, v := known(k).of("room_pressure"), known(k).of("room_voltage")
			if math.Abs(p-known(k).of("room_flow_row_held")) > 0.01*p || math.Abs(p-known(k).of("room_dead_column_held")) > 0.01*p {
				list = append(list, "pressure")
			}
			if math.Abs(v-known(k).of("room_dead_row_held")) > 0.1 {
				list = append(list, "voltage")
			}
			if known(k).of("room_u") < 0.98*shortest {
				list = append(list, "short pulse")
			}
			return strings.Join(list, " ")
		},
	}
}

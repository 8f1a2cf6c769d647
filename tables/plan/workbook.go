package plan

import (
	"fmt"
	"strconv"

	"injtab/fit/fluid"
	"injtab/tables"
)

// Workbook is the form to fill in at the bench: the setup, a row for every reading
// with an empty cell for its amount, a check of each against what is expected, and
// the order of the runs. Check reads the filled form as a bench file.
func (p Plan) Workbook() tables.FillForm {
	readings := p.readingSheet()
	return p.form(p.setupSheet(), readings, p.checkSheet(readings, p.longCells()))
}

func (p Plan) form(setup, readings, check tables.FormSheet) tables.FillForm {
	return tables.FillForm{
		Name: "session", Title: p.Report().Title,
		Sheets: []tables.FormSheet{setup, readings, check, p.runSheet()},
	}
}

func (p Plan) setupSheet() tables.FormSheet {
	j := p.job
	s := tables.FormSheet{
		Name: "setup", About: "What holds for the whole session. Change what differs on your bench.",
		Columns: []tables.FormColumn{{Header: "key", Width: 28}, {Header: "value", Width: 40}, {Header: "remark", Width: 60}},
	}
	row := func(key string, value tables.FormCell, remark string) {
		s.Rows = append(s.Rows, []tables.FormCell{tables.FormText(key), value, tables.FormText(remark)})
	}
	input := func(key string, value, lo, hi float64, remark string) {
		row(key, tables.FormInput(value, tables.FormRule{Lo: lo, Hi: hi}), remark)
	}
	row("title", tables.FormInputText(j.Title, tables.FormRule{}), "")
	var fluids []string
	for _, f := range fluid.All() {
		fluids = append(fluids, f.Name)
	}
	row("fluid", tables.FormInputText(j.Fluid.Name, tables.FormRule{List: fluids, Loose: true}), "What runs through the bench.")
	input("rated_pressure_kpa", j.RatedPressure.KPa(), 10, 1500, "Pressure at which flows are quoted.")
	if j.weighed {
		input("division_g", j.Scale.Step.Grams(), 0.0001, 100, "Step of the scale.")
	} else {
		input("division_ml", j.vessel.Division.Ml(), 0.001, 100, "Smallest division of the vessels.")
	}
	input("vessel_tolerance_ml", tidy(j.vessel.Tolerance.Ml()), 0, 100, "Limit of error of a vessel.")
	input("pressure_uncertainty_pct", tidy(j.PressureLimit.Pct()), 0, 20, "Limit of error of the gauge.")
	input("voltage_uncertainty_pct", tidy(j.VoltageLimit.Pct()), 0, 20, "Limit of error of the voltmeter.")
	input("timer_uncertainty_us", tidy(1e3*j.TimerLimit.Ms()), 0, 1000, "Limit of error of the pulse.")
	row("temp_c", tables.FormEmpty(tables.FormRule{Lo: -40, Hi: 120}), "Temperature of the fluid; read it at the start and half-way.")
	row("driver", tables.FormInputText("", tables.FormRule{}), "Dead time belongs to the driver it was measured with.")
	row("clamp_v", tables.FormEmpty(tables.FormRule{Lo: 0, Hi: 500}), "Voltage at which the driver switches off, where known.")
	row("wiring_drop_v", tables.FormEmpty(tables.FormRule{Lo: 0, Hi: 5}), "Supply at the ECU minus supply at the injector, where known.")
	return s
}

// amount is the column to fill in, and the most that its vessel can show.
func (p Plan) amount() (header string, most float64) {
	if p.job.weighed {
		return "mass_g", p.job.Scale.Capacity.Grams()
	}
	return "volume_ml", p.job.vessel.Capacity.Ml()
}

// Columns of the sheet readings.
const (
	runColumn = iota
	slotColumn
	vesselColumn
	injectorColumn
	pressureColumn
	voltageColumn
	pulseColumn
	periodColumn
	shotsColumn
	amountColumn
	noteColumn
)

func (p Plan) readingSheet() tables.FormSheet {
	header, most := p.amount()
	s := tables.FormSheet{
		Name: "readings", About: "Write the amount of every reading; 0 where nothing came, nothing where it was not run.",
		Columns: []tables.FormColumn{
			{Header: "run", Width: 6}, {Header: "slot", Width: 6}, {Header: "vessel", Width: 8}, {Header: "injector", Width: 16},
			{Header: "pressure_kpa", Width: 14, Decimals: 1}, {Header: "voltage_v", Width: 11, Decimals: 2},
			{Header: "pulse_ms", Width: 10, Decimals: 2}, {Header: "period_ms", Width: 11, Decimals: 2}, {Header: "shots", Width: 9},
			{Header: header, Width: 13, Decimals: 2}, {Header: "note", Width: 24},
		},
	}
	rule := p.amountRule(most)
	for _, r := range p.Order {
		x := p.Points[r.Point]
		for _, slot := range r.Slots {
			s.Rows = append(s.Rows, []tables.FormCell{
				tables.FormNumber(float64(r.Run)), tables.FormNumber(float64(slot.Slot)), tables.FormNumber(float64(slot.Slot)),
				tables.FormText(slot.Injector), tables.FormNumber(x.Pressure), tables.FormNumber(x.Voltage),
				tables.FormNumber(x.Pulse), tables.FormNumber(x.Period), tables.FormNumber(float64(x.Shots)),
				tables.FormEmpty(rule), tables.FormInputText("", tables.FormRule{}),
			})
		}
	}
	return s
}

func (p Plan) amountRule(most float64) tables.FormRule {
	return tables.FormRule{Lo: 0, Hi: most, Message: fmt.Sprintf("What was read, 0 to %.6g; 0 where nothing came.", most)}
}

// farOff is the difference from what is expected in a check that asks for a second
// look: injectors of one kind differ by less (common practice, no source).
const farOff = 0.25

func (p Plan) checkSheet(readings tables.FormSheet, cells []amountCell) tables.FormSheet {
	per := "ml_per_shot"
	if p.job.weighed {
		per = "g_per_shot"
	}
	s := tables.FormSheet{
		Name: "check", About: "Works itself out from the readings: what one shot brought, and how far that is from the expected.",
		Columns: []tables.FormColumn{
			{Header: "run", Width: 6}, {Header: "injector", Width: 16}, {Header: "pulse_ms", Width: 10, Decimals: 2},
			{Header: per, Width: 14, Decimals: 5}, {Header: "expected_" + per, Width: 22, Decimals: 5}, {Header: "difference_pct", Width: 16, Decimals: 1},
		},
	}
	row := 0
	for _, r := range p.Order {
		x := p.Points[r.Point]
		expected := x.Expected
		if p.job.weighed {
			expected = x.Grams
		}
		for range r.Slots {
			at := cells[row]
			line := []tables.FormCell{tables.FormNumber(float64(r.Run)), tables.FormText(at.injector), tables.FormNumber(x.Pulse),
				tables.FormQuotient(tables.FormQuotientOf{Of: tables.FormRef{Sheet: readings.Name, Row: at.row, Column: at.column}, By: tables.FormRef{Sheet: readings.Name, Row: at.row, Column: at.shots}}),
				tables.FormBlank(), tables.FormBlank()}
			if expected > 0 {
				line[4] = tables.FormNumber(tidy(expected / float64(x.Shots)))
				line[5] = tables.FormQuotient(tables.FormQuotientOf{Of: tables.FormRef{Sheet: s.Name, Row: row, Column: 3}, By: tables.FormRef{Sheet: s.Name, Row: row, Column: 4}, Less: 1, Times: 100, Limit: 100 * farOff})
			}
			s.Rows = append(s.Rows, line)
			row++
		}
	}
	return s
}

func (p Plan) runSheet() tables.FormSheet {
	s := tables.FormSheet{
		Name: "runs", About: "One line a run: what to set, and who sits where.",
		Columns: []tables.FormColumn{
			{Header: "run", Width: 6}, {Header: "seating", Width: 9}, {Header: "kind", Width: 11}, {Header: "pressure_kpa", Width: 14, Decimals: 1},
			{Header: "voltage_v", Width: 11, Decimals: 2}, {Header: "pulse_ms", Width: 10, Decimals: 2}, {Header: "period_ms", Width: 11, Decimals: 2},
			{Header: "shots", Width: 9}, {Header: "duration_s", Width: 12, Decimals: 1},
		},
	}
	for slot := range p.job.Slots {
		s.Columns = append(s.Columns, tables.FormColumn{Header: "slot_" + strconv.Itoa(slot+1), Width: 14})
	}
	for _, r := range p.Order {
		x := p.Points[r.Point]
		row := []tables.FormCell{tables.FormNumber(float64(r.Run)), tables.FormNumber(float64(r.Seating)), tables.FormText(x.Kind),
			tables.FormNumber(x.Pressure), tables.FormNumber(x.Voltage), tables.FormNumber(x.Pulse), tables.FormNumber(x.Period),
			tables.FormNumber(float64(x.Shots)), tables.FormNumber(x.Duration)}
		for range p.job.Slots {
			row = append(row, tables.FormBlank())
		}
		for _, slot := range r.Slots {
			row[len(row)-p.job.Slots+slot.Slot-1] = tables.FormText(slot.Injector)
		}
		s.Rows = append(s.Rows, row)
	}
	return s
}

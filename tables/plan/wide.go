package plan

import (
	"strings"

	"injtab/tables"
)

// An amountCell is where the amount of one reading is written on the sheet readings,
// in the order of the runs and their slots.
type amountCell struct {
	injector           string
	row, column, shots int
}

// longCells are those of the form with one reading a row.
func (p Plan) longCells() (out []amountCell) {
	for _, r := range p.Order {
		for _, slot := range r.Slots {
			out = append(out, amountCell{slot.Injector, len(out), amountColumn, shotsColumn})
		}
	}
	return out
}

// WideWorkbook is the form with a column for each injector and one run a row. It has
// no room for slots, so that a slot that reads low can't be told from what sat in it.
func (p Plan) WideWorkbook() tables.FillForm {
	readings, cells := p.wideSheet()
	setup := p.setupSheet()
	header, _ := p.amount()
	for _, line := range [][2]string{{"injectors", quoted(p.job.IDs)}, {"reading", header}} {
		setup.Rows = append(setup.Rows, []tables.FormCell{tables.FormText(line[0]), tables.FormText(line[1]), tables.FormText("")})
	}
	return p.form(setup, readings, p.checkSheet(readings, cells))
}

// Columns of the wide sheet before those of the injectors.
const (
	wideShots = 5
	wideFirst = wideShots + 1
)

func (p Plan) wideSheet() (tables.FormSheet, []amountCell) {
	_, most := p.amount()
	s := tables.FormSheet{
		Name: "readings", About: "Write what each injector of the run delivered; 0 where nothing came, nothing where it was not run.",
		Columns: []tables.FormColumn{
			{Header: "run", Width: 6}, {Header: "pressure_kpa", Width: 14, Decimals: 1}, {Header: "voltage_v", Width: 11, Decimals: 2},
			{Header: "pulse_ms", Width: 10, Decimals: 2}, {Header: "period_ms", Width: 11, Decimals: 2}, {Header: "shots", Width: 9},
		},
	}
	at := map[string]int{}
	for i, id := range p.job.IDs {
		at[id] = wideFirst + i
		s.Columns = append(s.Columns, tables.FormColumn{Header: id, Width: 10, Decimals: 2})
	}
	var cells []amountCell
	for _, r := range p.Order {
		x := p.Points[r.Point]
		line := []tables.FormCell{tables.FormNumber(float64(r.Run)), tables.FormNumber(x.Pressure), tables.FormNumber(x.Voltage),
			tables.FormNumber(x.Pulse), tables.FormNumber(x.Period), tables.FormNumber(float64(x.Shots))}
		for range p.job.IDs {
			line = append(line, tables.FormBlank())
		}
		for _, slot := range r.Slots {
			line[at[slot.Injector]] = tables.FormEmpty(p.amountRule(most))
			cells = append(cells, amountCell{slot.Injector, len(s.Rows), at[slot.Injector], wideShots})
		}
		s.Rows = append(s.Rows, line)
	}
	return s, cells
}

// quoted lists ids as a setup line does.
func quoted(ids []string) string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = id
		if strings.ContainsAny(id, ", \"") {
			out[i] = `"` + strings.ReplaceAll(id, `"`, `""`) + `"`
		}
	}
	return strings.Join(out, ",")
}

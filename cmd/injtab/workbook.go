package main

import (
	"bytes"

	"injtab/export"
	"injtab/tables"
	"injtab/tables/engine"
)

// workbook is tables.xlsx: what the tables are, the tables with a chart each, and
// sheets that go on calculating with them. in is the engine, if one is known.
func workbook(from origin, r tables.SetResult, set tables.Set, about tables.Table, in *engine.Inputs) ([]byte, error) {
	report := r.Report()
	report.Title = "Tables: " + from.title
	report.Sections = []tables.Section{{Name: "warnings", Heading: "Warnings", Notes: r.Notes()}}
	report.Sections = append(report.Sections, r.Sheets()...)
	report.Sections = append(report.Sections, tables.Section{Name: about.Name, Heading: about.Title, Tables: []tables.Table{about}})
	calcs, err := liveSheets(set, in)
	if err != nil {
		return nil, err
	}
	var buf bytes.Buffer
	err = export.Workbook(&buf, report, calcs)
	return buf.Bytes(), err
}

const workbookName = "tables.xlsx"

// lookedUp are the tables that the live sheets look up.
type lookedUp struct{ flow, dead, short, trims, limits tables.Table }

// liveSheets are none where the tables are for no injector.
func liveSheets(set tables.Set, in *engine.Inputs) ([]export.Calculation, error) {
	var t lookedUp
	t.flow, _ = set.Find("flow")
	t.dead, _ = set.Find("dead_time")
	t.short, _ = set.Find("short_pulse")
	t.trims, _ = set.Find("trims")
	t.limits, _ = set.Find("limits")
	if t.trims.Rows() == 0 {
		return nil, nil
	}
	start, err := startOf(set, t, in)
	if err != nil {
		return nil, err
	}
	return []export.Calculation{pulseSheet(set, t), headroomSheet(set, t, start)}, nil
}

// known are the entries above one of a calculation.
type known map[string]export.Entry

func (k known) of(name string) float64 { return k[name].Number }

// derived is a number that follows from entries above it.
func derived(name, label, unit string, decimals int, formula string, value func(known) float64) export.Entry {
	return export.Entry{Label: label, Name: name, Unit: unit, Decimals: decimals, Formula: formula,
		Value: func(k map[string]export.Entry) float64 { return value(k) }}
}

// columnOf finds a column by its header. The tables are those just built and always have
// those asked for: another name is a mistake in this program, and panics.
func columnOf(t tables.Table, name string) int {
	for i, c := range t.Cols {
		if c.Name == name {
			return i
		}
	}
	panic("injtab: table " + t.Name + " has no column " + name)
}

package tables

import (
	"fmt"

	"injtab/fit/diag"
)

// sessionName is the table that says what the others are for.
const sessionName = "session"

// Session is what a set of tables is for, as a table of one row that goes with the
// others: the fuel, and by what its flow exceeds the bench fluid's.
func (s Set) Session(o Options) Table {
	name, temp := "bench fluid", Cell{Status: diag.NotMeasured}
	if o.Fuel != nil {
		b := builder{o: o}
		name, temp = o.Fuel.Name, Cell{Value: round(b.fuelTemp().C(), 2)}
	}
	return Table{
		Name: sessionName, Title: "What the tables are for", Corner: "fuel",
		Row:     Column{Name: "fuel", Title: "Fuel", Text: true, About: "What flows and volumes in the tables are of."},
		RowText: []string{name},
		Cols: []Column{
			{Name: "fuel_temp_c", Title: "Fuel temperature", Unit: "°C", UCUM: "Cel", Decimals: 2, About: "Temperature of that fuel at the injector."},
			{Name: "volume_factor", Title: "Volume factor", UCUM: "1", Decimals: 6, About: "A flow in the tables divided by that of the bench fluid."},
			{Name: "reference_pressure_kpa", Title: "Reference pressure", Unit: "kPa", UCUM: "kPa", Decimals: 3, About: "Pressure that one-way tables are for."},
			{Name: "reference_voltage_v", Title: "Reference voltage", Unit: "V", UCUM: "V", Decimals: 3, About: "Voltage that one-way tables are for."},
		},
		Cells: [][]Cell{{temp, {Value: s.VolumeFactor}, {Value: s.ReferenceP}, {Value: s.ReferenceV}}},
	}
}

// TakeSession tells the ECU by what a flow in its tables exceeds the bench fluid's,
// from the table that Session made.
func (e *ECU) TakeSession(ts []Table) error {
	for _, t := range ts {
		if t.Name != sessionName {
			continue
		}
		_, values, err := list(t.numbered(), "volume_factor")
		if err != nil {
			return err
		}
		if values[0] < 0.5 || values[0] > 2 {
			return fmt.Errorf("the table %s: volume_factor is %s, expected a number near 1: build the tables again", sessionName, number(values[0]))
		}
		e.VolumeFactor = values[0]
		return nil
	}
	return fmt.Errorf("the table %s is missing: build the tables again", sessionName)
}

// numbered gives rows of names the numbers 0, 1, 2, … instead.
func (t Table) numbered() Table {
	t.RowAt = spaced(0, float64(len(t.Cells)), len(t.Cells)+1)
	return t
}

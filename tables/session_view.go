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
			{Name: "fuel_temp_c", Title: "Fuel temperature", Unit: "°C", UCUM: "Cel", Decimals: fewestDigits([]float64{temp.Value}, 2), About: "Temperature of that fuel at the injector."},
			{Name: "volume_factor", Title: "Volume factor", UCUM: "1", Decimals: 6, About: "A flow in the tables divided by that of the bench fluid."},
			{Name: "reference_pressure_kpa", Title: "Reference pressure", Unit: "kPa", UCUM: "kPa", Decimals: fewestDigits([]float64{s.ReferenceP}, 3), About: "Pressure that one-way tables are for."},
			{Name: "reference_voltage_v", Title: "Reference voltage", Unit: "V", UCUM: "V", Decimals: fewestDigits([]float64{s.ReferenceV}, 3), About: "Voltage that one-way tables are for."},
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
		c := columnIndex(t, "volume_factor")
		if c < 0 || t.Rows() == 0 || len(t.Cells[0]) <= c || !t.Cells[0][c].Status.HasValue() {
			return fmt.Errorf("the table %s has no volume_factor: build the tables again", sessionName)
		}
		factor := t.Cells[0][c].Value
		if factor < 0.5 || factor > 2 {
			return fmt.Errorf("the table %s: volume_factor is %s, expected a number near 1: build the tables again", sessionName, number(factor))
		}
		e.VolumeFactor = factor
		return nil
	}
	return fmt.Errorf("the table %s is missing: build the tables again", sessionName)
}

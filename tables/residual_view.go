package tables

import "injtab/fit"

// Residuals lists every reading that the fit used against what it would have given.
func Residuals(m *fit.Model) Table {
	t := Table{
		Name: "residuals", Title: "Readings against the model", Corner: "line",
		About: "What each reading delivered per shot, what the model gives, and how far apart they are: in per cent, and in the reading's own standard uncertainties. A weight near 0 means that the fit did not believe it.",
		Row:   Column{Name: "line", Title: "Line", About: "Line or row of the bench file."},
		Cols: []Column{
			{Name: "injector", Title: "Injector", Text: true, About: "What is written on it."},
			{Name: "pulse_ms", Title: "Pulse", Unit: "ms", UCUM: "ms", Decimals: 3, About: "Commanded pulse."},
			{Name: "pressure_kpa", Title: "Pressure", Unit: "kPa", UCUM: "kPa", Decimals: 1, About: "Rail pressure."},
			{Name: "voltage_v", Title: "Voltage", Unit: "V", UCUM: "V", Decimals: 2, About: "Supply at the injector."},
			{Name: "read_ml", Title: "Read", Unit: "ml", UCUM: "mL", Decimals: 6, About: "Delivered per shot, as read."},
			{Name: "fitted_ml", Title: "Fitted", Unit: "ml", UCUM: "mL", Decimals: 6, About: "Delivered per shot, by the model."},
			{Name: "off_pct", Title: "Off by", Unit: "%", UCUM: "%", Decimals: 2, About: "Read less fitted, of fitted."},
			{Name: "uncertainties", Title: "Uncertainties", UCUM: "1", Decimals: 2, About: "The same in standard uncertainties of the reading."},
			{Name: "weight", Title: "Weight", UCUM: "1", Decimals: 2, About: "How far the fit believed the reading, 0 to 1."},
		},
	}
	readings := m.Checked.Readings()
	for _, r := range m.Residuals() {
		x := readings.At(r.Reading)
		t.RowAt = append(t.RowAt, float64(x.Line))
		row := []Cell{{Text: r.Injector}}
		for _, v := range []float64{x.Pulse.Ms(), x.Pressure.KPa(), x.Voltage.V(), x.PerShot().Ml(), r.Fitted, r.Pct, r.Z, r.Weight} {
			row = append(row, Cell{Value: v})
		}
		t.Cells = append(t.Cells, row)
	}
	return t
}

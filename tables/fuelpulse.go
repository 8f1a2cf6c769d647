package tables

import (
	"math"

	"injtab/fit/diag"
	"injtab/fit/unit"
)

// fuelToPulse is the whole look-up at the reference voltage in one grid: pulse for
// a mass of fuel, over the pressures of the flow table.
func (b *builder) fuelToPulse(pressures []float64) Table {
	density := b.o.Fuel.At(b.fuelTemp())
	lo, hi := b.shortRange()
	mid := b.m.Flow(b.who, b.refP).Value * b.factor / 60000 // ml per ms
	mg := func(u float64) float64 { return unit.Ml(u * mid).Of(density).Mg() }
	var rows []float64
	for _, u := range spaced(0, 1, 12) {
		m := mg(lo * math.Pow(hi/lo, u))
		step := math.Pow(10, math.Floor(math.Log10(m))-1)
		if x := math.Round(m/step) * step; len(rows) == 0 || x > rows[len(rows)-1] {
			rows = append(rows, x)
		}
	}
	row := Column{Name: "fuel_mg", Title: "Fuel per shot", Unit: "mg", UCUM: "mg", Decimals: 3, About: "Wanted mass of fuel per shot."}
	t := grid("fuel_to_pulse", "Pulse for a mass of fuel", row, rows, pressureColumn(), pressures,
		Column{Unit: "ms", UCUM: "ms", Decimals: b.stepDigits(), About: "Pulse of the mean injector at the reference voltage."})
	t.About = "Pulse of the mean injector for a mass of " + inSentence(b.o.Fuel.Title) + " per shot, at the reference voltage."
	for _, m := range rows {
		volume := unit.Mass(m / 1e6).Of(density)
		var line []Cell
		for _, p := range pressures {
			e := b.m.Pulse(b.who, unit.Volume(float64(volume)/b.factor), unit.KPa(p), b.refV)
			e = b.tooFar(e, p, b.m.FlowPressures(), farPressure)
			c := cell(e, e.Value, 1)
			if c.Status.HasValue() && c.Basis == diag.Measured {
				c.Basis = diag.Interpolated
			}
			line = append(line, c)
		}
		t.Cells = append(t.Cells, line)
	}
	return t
}

package tables

import (
	"math"

	"injtab/fit"
	"injtab/fit/unit"
)

// meanDead is the dead time in ms of the mean injector; NaN where one does not
// open.
func (b *builder) meanDead(p, v float64) float64 {
	sum := 0.0
	for _, g := range b.who {
		sum += b.m.DeadTimeOf(g, unit.KPa(p), unit.Volts(v))
	}
	return sum / float64(len(b.who))
}

// deadTime is the dead time of the mean injector over voltage and pressure.
func (b *builder) deadTime() Table {
	vlo, vhi := b.o.Voltage.span(b.m.Voltages())
	plo, phi := b.o.Pressure.span(b.m.Pressures())
	vs, ps := spaced(vlo, vhi, 81), spaced(plo, phi, 21)
	rows := b.choose(b.o.Voltage, vlo, vhi, 0.05, mostVoltages, Gain{Table: "dead_time", Axis: "voltage_v", Unit: "ms"}, func(at []float64) ([][]float64, []float64) {
		return b.deadRows(spaced(plo, phi, 5), at, func(p, v float64) float64 { return b.meanDead(p, v) }), nil
	})
	cols := b.choose(b.o.Pressure, plo, phi, 5, mostPressures, Gain{Table: "dead_time", Axis: "pressure_kpa", Unit: "ms"}, func(at []float64) ([][]float64, []float64) {
		return b.deadRows(spaced(vlo, vhi, 5), at, func(v, p float64) float64 { return b.meanDead(p, v) }), nil
	})
	value := b.deadValues(rows, cols, vs, ps)
	t := grid("dead_time", "Dead time", voltageColumn(), rows, pressureColumn(), cols,
		Column{Unit: "ms", UCUM: "ms", Decimals: b.stepDigits(), About: "Dead time of the mean injector."})
	t.About = "Time added to every pulse, over supply voltage and pressure. It belongs to the driver and wiring it was measured with."
	for i, v := range rows {
		var line []Cell
		for j, p := range cols {
			e := b.deadEstimate(p, v)
			c := cell(e, value(i, j), 1)
			c.Value = b.toStep(c.Value)
			line = append(line, c)
		}
		t.Cells = append(t.Cells, line)
	}
	return t
}

func (b *builder) deadEstimate(p, v float64) fit.Estimate {
	e := b.m.DeadTime(b.who, unit.KPa(p), unit.Volts(v))
	e = b.tooFar(e, v, b.m.Voltages(), farVoltage)
	return b.tooFar(e, p, b.m.Pressures(), farPressure)
}

// deadRows samples f over at for each of the fixed values; samples at which an
// injector does not open are left out by holding their neighbour.
func (b *builder) deadRows(fixed, at []float64, f func(fixed, at float64) float64) [][]float64 {
	var rows [][]float64
	for _, x := range fixed {
		row := make([]float64, len(at))
		for i := len(at) - 1; i >= 0; i-- {
			row[i] = f(x, at[i])
			if math.IsNaN(row[i]) && i < len(at)-1 {
				row[i] = row[i+1]
			}
		}
		if !math.IsNaN(row[len(row)-1]) {
			rows = append(rows, row)
		}
	}
	return rows
}

// deadValues gives the cells' values: the best table over the region where all
// injectors open, or the model's own values where some of it does not open.
func (b *builder) deadValues(rows, cols, vs, ps []float64) func(i, j int) float64 {
	f := make([][]float64, len(vs))
	for i, v := range vs {
		for _, p := range ps {
			d := b.meanDead(p, v)
			if math.IsNaN(d) {
				return func(i, j int) float64 { return b.meanDead(cols[j], rows[i]) }
			}
			f[i] = append(f[i], d)
		}
	}
	best := bestGrid(rows, cols, vs, ps, f)
	return func(i, j int) float64 { return best[i][j] }
}

// grid makes an empty table of one quantity over two axes.
func grid(name, title string, row Column, rowAt []float64, across Column, colAt []float64, each Column) Table {
	t := Table{Name: name, Title: title, Row: row, RowAt: rowAt, Across: across, Corner: row.Name + `\` + across.Name}
	for _, x := range colAt {
		c := each
		c.Name, c.Title, c.At = number(x), number(x)+" "+across.Unit, x
		t.Cols = append(t.Cols, c)
	}
	return t
}

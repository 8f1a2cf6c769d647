package tables

import (
	"math"

	"injtab/fit"
	"injtab/fit/unit"
)

// deadTime is the dead time of the mean injector over voltage and pressure.
func (b *builder) deadTime() Table {
	rows, cols := b.deadAxes()
	best := b.deadValues(rows, cols)
	t := grid("dead_time", "Dead time", voltageColumn(), rows, pressureColumn(), cols,
		Column{Unit: "ms", UCUM: "ms", Decimals: b.stepDigits(), About: "Dead time of the mean injector."})
	t.About = "Time added to every pulse, over supply voltage and pressure. It belongs to the driver and wiring it was measured with. Beside the reference condition it carries what short pulses need there on average."
	for i, v := range rows {
		var line []Cell
		for j, p := range cols {
			line = append(line, cell(b.deadEstimate(p, v), best[i*len(cols)+j], 1))
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

// deadAxes chooses the breakpoints of the dead time.
func (b *builder) deadAxes() (voltages, pressures []float64) {
	v := b.voltageNeed("dead_time", inTime, b.m.Voltages())
	p := b.pressureNeed("dead_time", inTime, b.m.Pressures())
	voltages = b.choose(b.o.Voltage, v, func(at []float64) ([][]float64, []float64) {
		return b.deadRows(spaced(p.lo, p.hi, 5), at, b.typicalDead), nil
	})
	pressures = b.choose(b.o.Pressure, p, func(at []float64) ([][]float64, []float64) {
		return b.deadRows(spaced(v.lo, v.hi, 5), at, func(v, p float64) float64 { return b.typicalDead(p, v) }), nil
	})
	return voltages, pressures
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

// deadValues gives the cells' values, row after row: the best table over the region
// in which all injectors open.
func (b *builder) deadValues(rows, cols []float64) []float64 {
	l := lattice{rows: rows, cols: cols}
	for _, v := range rows {
		for _, p := range cols {
			l.start = append(l.start, b.tableDead(p, v))
		}
	}
	var goals []goal
	for _, v := range between(rows, 6) {
		for _, p := range between(cols, 3) {
			goals = append(goals, goal{row: v, col: p, value: b.tableDead(p, v),
				weight: b.weightAt(voltageAxis, v) * b.weightAt(pressureAxis, p)})
		}
	}
	return l.best(goals)
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

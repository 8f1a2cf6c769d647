package tables

import (
	"injtab/fit/diag"
	"injtab/fit/unit"
)

// Names of the axes that tables are looked up in.
const (
	pressureAxis = "pressure_kpa"
	voltageAxis  = "voltage_v"
	pulseAxis    = "effective_ms"
)

// mostPressures, mostVoltages, mostPulses are the sizes chosen for tables whose
// axes the user leaves to the program.
const (
	mostPressures  = 6
	mostVoltages   = 8
	mostPulses     = 12
	mostTrimPulses = 10
)

// Where a dependence that was not measured is assumed, tables span what engines run at
// (common practice, no source): cranking to charging, and from two thirds to five
// thirds of the one pressure.
const (
	assumedFrom, assumedTo         = 8.0, 16.0
	assumedFromPart, assumedToPart = 2.0 / 3, 5.0 / 3
)

func (b *builder) pressureNeed(table, miss string, measured []float64) need {
	n := need{table: table, axis: pressureAxis, unit: miss, step: 5, end: 1, want: mostPressures}
	if p := measured[0]; b.assumesPressure() {
		measured = []float64{p * assumedFromPart, p * assumedToPart}
	}
	n.lo, n.hi = b.o.Pressure.span(measured)
	return n
}

func (b *builder) voltageNeed(table, miss string, measured []float64) need {
	n := need{table: table, axis: voltageAxis, unit: miss, step: 0.05, end: 0.05, want: mostVoltages}
	if b.assumesVoltage() {
		measured = []float64{assumedFrom, assumedTo}
	}
	n.lo, n.hi = b.o.Voltage.span(measured)
	return n
}

// pulseNeed begins and ends at the effective pulses that readings support.
func (b *builder) pulseNeed(table, miss string, want int) need {
	n := need{table: table, axis: pulseAxis, unit: miss, step: 0.02, end: 0.01, want: want}
	lo, hi := b.shortRange()
	n.lo, n.hi = b.o.Pulse.span([]float64{lo, hi})
	return n
}

// span is the range of an axis: of the values asked for, else of what was measured.
func (a AxisSpec) span(measured []float64) (lo, hi float64) {
	if a.Values != nil {
		return a.Values[0], a.Values[len(a.Values)-1]
	}
	return measured[0], measured[len(measured)-1]
}

// assumesPressure tells whether one pressure was measured and the model assumes others.
func (b *builder) assumesPressure() bool {
	return b.m.Flow(b.who, 1.5*b.refP).Basis == diag.Assumed
}

func (b *builder) assumesVoltage() bool {
	return b.m.DeadTime(b.who, b.refP, b.refV+unit.Volts(2)).Basis == diag.Assumed
}

// between gives the nodes and n − 1 places between each two, evenly spaced.
func between(nodes []float64, n int) []float64 {
	out := []float64{nodes[0]}
	for i := 1; i < len(nodes); i++ {
		out = append(out, spaced(nodes[i-1], nodes[i], n+1)[1:]...)
	}
	return out
}

// list1 is a lattice of one column that starts at a function's values.
func list1(at []float64, f func(float64) float64) lattice {
	l := lattice{rows: at, cols: []float64{0}}
	for _, x := range at {
		l.start = append(l.start, f(x))
	}
	return l
}

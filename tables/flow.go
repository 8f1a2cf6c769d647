package tables

import (
	"math"

	"injtab/fit"
	"injtab/fit/diag"
	"injtab/fit/unit"
)

// How far beyond the readings a cell may lie before it is left empty unless the
// user asks for it: the physics still holds there, but nothing has checked it.
const (
	farPressure = 0.25 // of the pressure
	farVoltage  = 0.15 // of the voltage
)

// tooFar empties a cell that lies too far beyond the measured range.
func (b *builder) tooFar(e fit.Estimate, x float64, measured []float64, far float64) fit.Estimate {
	lo, hi := measured[0], measured[len(measured)-1]
	if !b.o.Extrapolate && e.Basis == diag.Extrapolated && (x > hi*(1+far) || x < lo*(1-far)) {
		return fit.Estimate{Basis: e.Basis, Status: diag.NotMeasured}
	}
	return e
}

// flow is the static flow of the mean injector over pressure.
func (b *builder) flow() Table {
	at := b.choose(b.o.Pressure, b.pressureNeed("flow", inFlow, b.m.FlowPressures()), func(at []float64) ([][]float64, []float64) {
		f, w := make([]float64, len(at)), make([]float64, len(at))
		for i, p := range at {
			f[i] = b.meanFlow(p)
			w[i] = 1 / f[i]
		}
		return [][]float64{f}, w
	})
	best := b.flowValues(at)
	t := Table{
		Name: "flow", Title: "Static flow", Corner: "pressure_kpa",
		About: "Static flow of the mean injector over the pressure across it. Between rows the ECU interpolates.",
		Row:   pressureColumn(), RowAt: at,
		Cols: []Column{{Name: "flow_ml_min", Title: "Static flow", Unit: "ml/min", UCUM: "mL/min", Decimals: 2,
			About: "Static flow of the mean injector."}},
	}
	for i, p := range at {
		e := b.tooFar(b.m.Flow(b.who, unit.KPa(p)), p, b.m.FlowPressures(), farPressure)
		t.Cells = append(t.Cells, []Cell{cell(e, best[i]/b.factor, b.factor)})
	}
	return t
}

// flowValues gives the cells' values: a miss counts as a part of the flow.
func (b *builder) flowValues(at []float64) []float64 {
	l := list1(at, b.meanFlow)
	var goals []goal
	for _, p := range between(at, 8) {
		f := b.meanFlow(p)
		goals = append(goals, goal{row: p, value: f, weight: b.weightAt(pressureAxis, p) / f})
	}
	return l.best(goals)
}

func pressureColumn() Column {
	return Column{Name: "pressure_kpa", Title: "Pressure", Unit: "kPa", UCUM: "kPa", Decimals: 3,
		About: "Rail pressure above the pressure at the nozzle."}
}

func voltageColumn() Column {
	return Column{Name: "voltage_v", Title: "Voltage", Unit: "V", UCUM: "V", Decimals: 3,
		About: "Supply voltage at the injector while it is driven."}
}

func effectiveColumn() Column {
	return Column{Name: "effective_ms", Title: "Effective pulse", Unit: "ms", UCUM: "ms", Decimals: 4,
		About: "Wanted volume divided by static flow."}
}

// round rounds to digits behind the point, so that what is verified is what is
// written.
func round(x float64, digits int) float64 {
	by := math.Pow(10, float64(digits))
	return math.Round(x*by) / by
}

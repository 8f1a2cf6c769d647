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

// mostPressures, mostVoltages, mostPulses are the sizes chosen for tables whose
// axes the user leaves to the program.
const (
	mostPressures = 6
	mostVoltages  = 8
	mostPulses    = 12
)

// span is the range of an axis: of the values asked for, else of what was measured.
func (a AxisSpec) span(measured []float64) (lo, hi float64) {
	if a.Values != nil {
		return a.Values[0], a.Values[len(a.Values)-1]
	}
	return measured[0], measured[len(measured)-1]
}

// flow is the static flow of the mean injector over pressure.
func (b *builder) flow() Table {
	value := func(p float64) float64 {
		sum := 0.0
		for _, g := range b.who {
			sum += b.m.FlowOf(g, unit.KPa(p))
		}
		return sum / float64(len(b.who)) * b.factor
	}
	lo, hi := b.o.Pressure.span(b.m.FlowPressures())
	at := b.choose(b.o.Pressure, lo, hi, 5, mostPressures, Gain{Table: "flow", Axis: "pressure_kpa", Unit: "part of the flow"}, func(at []float64) ([][]float64, []float64) {
		f, w := make([]float64, len(at)), make([]float64, len(at))
		for i, p := range at {
			f[i] = value(p)
			w[i] = 1 / f[i]
		}
		return [][]float64{f}, w
	})
	samples := spaced(lo, hi, 101)
	f, w := make([]float64, len(samples)), make([]float64, len(samples))
	for i, p := range samples {
		f[i] = value(p)
		w[i] = 1 / f[i]
	}
	best := bestValues(at, samples, f, w)
	t := Table{
		Name: "flow", Title: "Static flow", Corner: "pressure_kpa",
		About: "Static flow of the mean injector over the pressure across it. Between rows the ECU interpolates.",
		Row:   pressureColumn(), RowAt: at,
		Cols: []Column{{Name: "flow_ml_min", Title: "Static flow", Unit: "ml/min", UCUM: "mL/min", Decimals: 2,
			About: "Static flow of the mean injector."}},
	}
	for i, p := range at {
		e := b.tooFar(b.m.Flow(b.who, unit.KPa(p)), p, b.m.FlowPressures(), farPressure)
		c := cell(e, best[i]/b.factor, b.factor)
		c.Value = round(c.Value, 2)
		t.Cells = append(t.Cells, []Cell{c})
	}
	return t
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

// toStep rounds a time in ms to the step of the ECU.
func (b *builder) toStep(x float64) float64 { return round(math.Round(x/b.o.Step)*b.o.Step, 6) }

// stepDigits is how many digits behind the point the step needs, 3 at the least.
func (b *builder) stepDigits() int {
	for d := 3; d < 6; d++ {
		if x := b.o.Step * math.Pow(10, float64(d)); math.Abs(x-math.Round(x)) < 1e-9 {
			return d
		}
	}
	return 6
}

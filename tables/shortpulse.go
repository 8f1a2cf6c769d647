package tables

import (
	"math"

	"injtab/fit"
	"injtab/fit/unit"
)

// shortRange is the effective pulses in ms that the correction is given for: from
// the shortest that readings support to the longest.
func (b *builder) shortRange() (lo, hi float64) {
	wlo, whi := b.m.OpenTimes()
	flow := b.m.Flow(b.who, b.refP).Value / 60000
	dead := b.m.DeadTime(b.who, b.refP, b.refV).Value
	u := func(w float64) float64 {
		return b.m.Delivered(b.who, unit.Ms(w+dead), b.refP, b.refV).Value / flow
	}
	return math.Max(u(wlo), 0.05), u(whi)
}

func (b *builder) correction(u, v float64) fit.Estimate {
	return b.m.Correction(b.who, unit.Ms(u), b.refP, unit.Volts(v))
}

// correctionOf is its value alone.
func (b *builder) correctionOf(u, v float64) float64 {
	return b.m.CorrectionOf(u, b.meanDead(b.refP.KPa(), v), v)
}

// effectiveAxis chooses the breakpoints of the short-pulse tables: a miss counts
// as a part of the delivered fuel, so it weighs 1/u.
func (b *builder) effectiveAxis(table string, voltages []float64) []float64 {
	lo, hi := b.shortRange()
	at := b.choose(b.o.Pulse, round(lo, 2), round(hi, 2), 0.02, mostPulses, Gain{Table: table, Axis: "effective_ms", Unit: "part of the delivered fuel"}, func(at []float64) ([][]float64, []float64) {
		weights := make([]float64, len(at))
		for i, u := range at {
			weights[i] = 1 / u
		}
		var rows [][]float64
		for _, v := range voltages {
			row := make([]float64, len(at))
			for i, u := range at {
				row[i] = b.correctionOf(u, v)
			}
			rows = append(rows, row)
		}
		return rows, weights
	})
	return at
}

// shortSamples are places from lo to hi, denser where pulses are short.
func shortSamples(lo, hi float64, n int) (at, weights []float64) {
	for i := range n {
		u := lo * math.Pow(hi/lo, float64(i)/float64(n-1))
		at, weights = append(at, u), append(weights, 1/u)
	}
	return at, weights
}

func (b *builder) bestCorrection(at []float64, v float64) []float64 {
	samples, weights := shortSamples(at[0], at[len(at)-1], 120)
	f := make([]float64, len(samples))
	for i, u := range samples {
		f[i] = b.correctionOf(u, v)
	}
	return bestValues(at, samples, f, weights)
}

// shortPulse is the correction of short pulses at the reference condition.
func (b *builder) shortPulse() Table {
	at := b.effectiveAxis("short_pulse", []float64{b.refV.V()})
	best := b.bestCorrection(at, b.refV.V())
	t := Table{
		Name: "short_pulse", Title: "Short-pulse correction", Corner: "effective_ms",
		About: "Time added to an effective pulse because short pulses deliver less or more than the straight line.",
		Row:   effectiveColumn(), RowAt: at,
		Cols: []Column{{Name: "correction_ms", Title: "Correction", Unit: "ms", UCUM: "ms", Decimals: b.stepDigits(),
			About: "Time added to the effective pulse."}},
	}
	for i, u := range at {
		c := cell(b.correction(u, b.refV.V()), best[i], 1)
		c.Value = b.toStep(c.Value)
		t.Cells = append(t.Cells, []Cell{c})
	}
	return t
}

// shortPulseByVoltage is the correction over voltage and effective pulse; only
// where short pulses were read at two voltages or more.
func (b *builder) shortPulseByVoltage() (Table, bool) {
	measured := b.m.ShortVoltages()
	if len(measured) < 2 {
		return Table{}, false
	}
	lo, hi := b.o.Voltage.span(measured)
	rows := b.choose(b.o.Voltage, lo, hi, 0.05, mostVoltages, Gain{Table: "short_pulse_by_voltage", Axis: "voltage_v", Unit: "part of the delivered fuel"}, func(at []float64) ([][]float64, []float64) {
		ulo, uhi := b.shortRange()
		us, _ := shortSamples(ulo, uhi, 24)
		var out [][]float64
		for _, u := range us {
			row := make([]float64, len(at))
			for i, v := range at {
				row[i] = b.correctionOf(u, v) / u
			}
			out = append(out, row)
		}
		return out, nil
	})
	cols := b.effectiveAxis("short_pulse_by_voltage", rows)
	t := grid("short_pulse_by_voltage", "Short-pulse correction by voltage", voltageColumn(), rows, effectiveColumn(), cols,
		Column{Unit: "ms", UCUM: "ms", Decimals: b.stepDigits(), About: "Time added to the effective pulse."})
	t.About = "The same correction for an ECU that can look it up over voltage too; used instead of the one-way table."
	for _, v := range rows {
		best := b.bestCorrection(cols, v)
		var line []Cell
		for j, u := range cols {
			e := b.tooFar(b.correction(u, v), v, b.m.Voltages(), farVoltage)
			c := cell(e, best[j], 1)
			c.Value = b.toStep(c.Value)
			line = append(line, c)
		}
		t.Cells = append(t.Cells, line)
	}
	return t, true
}

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
	dead := b.meanDead(b.refP.KPa(), b.refV.V())
	bend := b.m.BendAt(b.refV)
	return math.Max(bend.Effective(wlo, dead), 0.05), bend.Effective(whi, dead)
}

func (b *builder) correction(u, v float64) fit.Estimate {
	return b.m.Correction(b.who, unit.Ms(u), b.refP, unit.Volts(v))
}

// correctionAt is the short-pulse correction in ms of the mean injector at a pressure
// and voltage, over the effective pulse in ms.
func (b *builder) correctionAt(p, v float64) func(u float64) float64 {
	dead, bend := b.meanDead(p, v), b.m.BendAt(unit.Volts(v))
	return func(u float64) float64 { return bend.Correction(u, dead) }
}

// shortCurve is what a table holds at a voltage: the correction there, less what the
// dead time carries of it.
func (b *builder) shortCurve(v float64) func(u float64) float64 {
	at, carried := b.correctionAt(b.refP.KPa(), v), b.carried(b.refP.KPa(), v)
	return func(u float64) float64 { return at(u) - carried }
}

// effectiveAxis chooses the breakpoints of the short-pulse tables: a miss counts
// as a part of the delivered fuel, so it weighs 1/u.
func (b *builder) effectiveAxis(table string, voltages []float64) []float64 {
	return b.choose(b.o.Pulse, b.pulseNeed(table, inFuel, mostPulses), func(at []float64) ([][]float64, []float64) {
		weights := make([]float64, len(at))
		for i, u := range at {
			weights[i] = 1 / u
		}
		var rows [][]float64
		for _, v := range voltages {
			rows = append(rows, sample(b.shortCurve(v), at))
		}
		return rows, weights
	})
}

func sample(f func(float64) float64, at []float64) []float64 {
	out := make([]float64, len(at))
	for i, x := range at {
		out[i] = f(x)
	}
	return out
}

// shortSamples are n places from lo to hi, denser where pulses are short, and the
// weight of a miss there as a part of the fuel.
func shortSamples(lo, hi float64, n int) (at, weights []float64) {
	for i := range n {
		u := lo * math.Pow(hi/lo, float64(i)/float64(n-1))
		at, weights = append(at, u), append(weights, 1/u)
	}
	return at, weights
}

// shortPulse is the correction of short pulses at the reference condition.
func (b *builder) shortPulse() Table {
	v := b.refV.V()
	at := b.effectiveAxis("short_pulse", []float64{v})
	curve := b.shortCurve(v)
	var goals []goal
	for _, u := range between(at, 8) {
		goals = append(goals, goal{row: u, value: curve(u), weight: b.weightAt(pulseAxis, u) / u})
	}
	best := list1(at, curve).best(goals)
	t := Table{
		Name: "short_pulse", Title: "Short-pulse correction", Corner: "effective_ms",
		About: "Time added to an effective pulse because short pulses deliver less or more than the straight line.",
		Row:   effectiveColumn(), RowAt: at,
		Cols: []Column{{Name: "correction_ms", Title: "Correction", Unit: "ms", UCUM: "ms", Decimals: b.stepDigits(),
			About: "Time added to the effective pulse."}},
	}
	for i, u := range at {
		t.Cells = append(t.Cells, []Cell{cell(b.correction(u, v), best[i], 1)})
	}
	return t
}

// shortPulseByVoltage is the correction over voltage and effective pulse; only
// where short pulses were read at two voltages or more.
func (b *builder) shortPulseByVoltage() []Table {
	measured := b.m.ShortVoltages()
	if len(measured) < 2 {
		return nil
	}
	rows := b.choose(b.o.Voltage, b.voltageNeed("short_pulse_by_voltage", inFuel, measured), b.shortOverVoltage)
	cols := b.effectiveAxis("short_pulse_by_voltage", rows)
	t := grid("short_pulse_by_voltage", "Short-pulse correction by voltage", voltageColumn(), rows, effectiveColumn(), cols,
		Column{Unit: "ms", UCUM: "ms", Decimals: b.stepDigits(), About: "Time added to the effective pulse."})
	t.About = "The same correction for an ECU that can look it up over voltage too; used instead of the one-way table."
	best := b.shortValues(rows, cols)
	for i, v := range rows {
		var line []Cell
		for j, u := range cols {
			e := b.tooFar(b.correction(u, v), v, b.m.Voltages(), farVoltage)
			line = append(line, cell(e, best[i*len(cols)+j], 1))
		}
		t.Cells = append(t.Cells, line)
	}
	return []Table{t}
}

// shortOverVoltage samples the correction over voltage as parts of the fuel, a row for
// each of some pulses.
func (b *builder) shortOverVoltage(at []float64) ([][]float64, []float64) {
	lo, hi := b.shortRange()
	us, weights := shortSamples(lo, hi, 16)
	rows := make([][]float64, len(us))
	for _, v := range at {
		curve := b.shortCurve(v)
		for i, u := range us {
			rows[i] = append(rows[i], curve(u)*weights[i])
		}
	}
	return rows, nil
}

// shortValues gives the cells' values, row after row.
func (b *builder) shortValues(rows, cols []float64) []float64 {
	l := lattice{rows: rows, cols: cols}
	for _, v := range rows {
		l.start = append(l.start, sample(b.shortCurve(v), cols)...)
	}
	var goals []goal
	for _, v := range between(rows, 3) {
		curve := b.shortCurve(v)
		for _, u := range between(cols, 4) {
			goals = append(goals, goal{row: v, col: u, value: curve(u), weight: b.weightAt(voltageAxis, v) * b.weightAt(pulseAxis, u) / u})
		}
	}
	return l.best(goals)
}

package tables

import (
	"errors"
	"fmt"
	"math"

	"injtab/fit/diag"
)

// A Form is a way of using the tables; one is used at a time.
type Form uint8

const (
	NoTrim       Form = iota // the mean injector for all
	FlowOnly                 // percentage alone
	FlowAndTime              // percentage with added ms
	FlowAndScale             // percentage with dead-time factor
	ByPulse                  // percentage by effective pulse
)

func (f Form) String() string {
	return [...]string{"no_trim", "flow_only", "flow_and_time", "flow_and_factor", "by_pulse"}[f]
}

// Title says the form in words.
func (f Form) Title() string {
	return [...]string{"no trim", "percentage alone", "percentage and added ms",
		"percentage and dead-time factor", "percentage by pulse"}[f]
}

// Forms are all ways of using the trims, the plainest first.
var Forms = []Form{NoTrim, FlowOnly, FlowAndTime, FlowAndScale, ByPulse}

// A Trim is one injector's row of the trims.
type Trim struct {
	Injector     string
	FlowOnlyPct  float64
	FlowPct      float64
	TimeMs       float64
	FactorPct    float64
	DeadFactor   float64
	ByPulsePct   []float64 // at ECU.pulseAt
	Cylinder     string
	hasPulseTrim bool
}

// An ECU looks up the tables as an engine control unit does: linear between
// breakpoints, the last value held outside.
type ECU struct {
	flowAt, flow []float64 // kPa, ml/min
	dead         gridTable
	shortAt      []float64 // effective ms
	short        []float64 // ms
	byVoltage    *gridTable
	trims        map[string]Trim
	order        []string
	pulseAt      []float64
	// VolumeFactor turns a volume of the tables' fuel into bench fluid: divide.
	VolumeFactor float64
}

type gridTable struct {
	rows, cols []float64
	cells      [][]Cell
}

// ErrEmptyCell is a look-up that touches a cell without a value.
var ErrEmptyCell = errors.New("the look-up touches an empty cell of the table")

// NewECU takes the tables that were read back. A missing or misshapen table is a
// sentence that names it.
func NewECU(ts []Table) (*ECU, error) {
	e := &ECU{trims: map[string]Trim{}, VolumeFactor: 1}
	by := map[string]Table{}
	for _, t := range ts {
		by[t.Name] = t
	}
	for _, name := range []string{"flow", "dead_time", "short_pulse", "trims"} {
		if t, ok := by[name]; !ok || t.Rows() == 0 {
			return nil, fmt.Errorf("the table %s is missing or empty: build the tables again", name)
		}
	}
	var err error
	if e.flowAt, e.flow, err = list(by["flow"], "flow_ml_min"); err != nil {
		return nil, err
	}
	if e.shortAt, e.short, err = list(by["short_pulse"], "correction_ms"); err != nil {
		return nil, err
	}
	e.dead = asGrid(by["dead_time"])
	if t, ok := by["short_pulse_by_voltage"]; ok {
		g := asGrid(t)
		e.byVoltage = &g
	}
	if err := e.readTrims(by["trims"]); err != nil {
		return nil, err
	}
	e.readPulseTrims(by["trims_by_pulse"])
	return e, e.sane()
}

func asGrid(t Table) gridTable {
	g := gridTable{rows: t.RowAt, cells: t.Cells}
	for _, c := range t.Cols {
		g.cols = append(g.cols, c.At)
	}
	return g
}

// list reads a two-column table; rows without a value end a look-up there.
func list(t Table, column string) (at, values []float64, err error) {
	for c, col := range t.Cols {
		if col.Name != column {
			continue
		}
		for r, row := range t.Cells {
			if row[c].Status.HasValue() {
				at, values = append(at, t.RowAt[r]), append(values, row[c].Value)
			}
		}
		if len(at) == 0 {
			return nil, nil, fmt.Errorf("the table %s has no value in column %s", t.Name, column)
		}
		return at, values, nil
	}
	return nil, nil, fmt.Errorf("the table %s has no column %s", t.Name, column)
}

// sane refuses axes that do not rise and flows that are not positive.
func (e *ECU) sane() error {
	axes := []struct {
		name string
		at   []float64
	}{{"flow", e.flowAt}, {"short_pulse", e.shortAt}, {"dead_time", e.dead.rows}, {"dead_time", e.dead.cols}}
	if e.byVoltage != nil {
		axes = append(axes, struct {
			name string
			at   []float64
		}{"short_pulse_by_voltage", e.byVoltage.rows}, struct {
			name string
			at   []float64
		}{"short_pulse_by_voltage", e.byVoltage.cols})
	}
	for _, a := range axes {
		for i := 1; i < len(a.at); i++ {
			if a.at[i] <= a.at[i-1] {
				return fmt.Errorf("the table %s: the breakpoint %s follows %s: breakpoints must rise", a.name, number(a.at[i]), number(a.at[i-1]))
			}
		}
	}
	for i, f := range e.flow {
		if f <= 0 {
			return fmt.Errorf("the table flow: %s ml/min at %s kPa: a flow must be above zero", number(f), number(e.flowAt[i]))
		}
	}
	return nil
}

func (e *ECU) readTrims(t Table) error {
	col := map[string]int{}
	for i, c := range t.Cols {
		col[c.Name] = i
	}
	for _, name := range []string{"injector", "flow_only_trim_pct", "flow_trim_pct", "dead_time_trim_ms", "factor_flow_trim_pct", "dead_time_factor"} {
		if _, ok := col[name]; !ok {
			return fmt.Errorf("the table trims has no column %s", name)
		}
	}
	for r, row := range t.Cells {
		x := Trim{Injector: row[col["injector"]].Text, Cylinder: t.RowText[r],
			FlowOnlyPct: row[col["flow_only_trim_pct"]].Value, FlowPct: row[col["flow_trim_pct"]].Value,
			TimeMs: row[col["dead_time_trim_ms"]].Value, FactorPct: row[col["factor_flow_trim_pct"]].Value,
			DeadFactor: row[col["dead_time_factor"]].Value}
		for _, name := range []string{"flow_only_trim_pct", "flow_trim_pct", "factor_flow_trim_pct"} {
			if v := row[col[name]].Value; v <= -90 || v > 900 {
				return fmt.Errorf("the table trims: %s of injector %s is %s %%, which no injector needs", name, x.Injector, number(v))
			}
		}
		if x.DeadFactor <= 0 {
			return fmt.Errorf("the table trims: dead_time_factor of injector %s is %s; it must be above zero", x.Injector, number(x.DeadFactor))
		}
		if _, twice := e.trims[x.Injector]; twice {
			return fmt.Errorf("the table trims has injector %s twice", x.Injector)
		}
		e.trims[x.Injector] = x
		e.order = append(e.order, x.Injector)
	}
	return nil
}

func (e *ECU) readPulseTrims(t Table) {
	for _, c := range t.Cols {
		e.pulseAt = append(e.pulseAt, c.At)
	}
	for r, row := range t.Cells {
		x, ok := e.trims[t.RowText[r]]
		if !ok {
			continue
		}
		x.hasPulseTrim = true
		for _, c := range row {
			x.ByPulsePct = append(x.ByPulsePct, c.Value)
		}
		e.trims[t.RowText[r]] = x
	}
}

// Injectors are the ids of the trims, in the order of the table.
func (e *ECU) Injectors() []string { return e.order }

// Has tells whether the tables are for this injector.
func (e *ECU) Has(id string) bool { _, ok := e.trims[id]; return ok }

// TwoWay tells whether there is a correction over voltage and pulse.
func (e *ECU) TwoWay() bool { return e.byVoltage != nil }

// Pulse is the pulse in ms for a wanted volume of m ml per shot, by the rule of
// the tables, for an injector in the form of trim asked for; twoWay uses the
// correction over voltage and pulse.
func (e *ECU) Pulse(id string, form Form, twoWay bool, m, p, v float64) (float64, error) {
	u := 60000 * m / interpolate(e.flowAt, e.flow, p)
	dead, err := e.dead.at(v, p)
	if err != nil {
		return 0, err
	}
	t := e.trims[id]
	uc := u
	switch form {
	case FlowOnly:
		uc = u * (1 + t.FlowOnlyPct/100)
	case FlowAndTime:
		uc = u * (1 + t.FlowPct/100)
		dead += t.TimeMs
	case FlowAndScale:
		uc = u * (1 + t.FactorPct/100)
		dead *= t.DeadFactor
	case ByPulse:
		if t.hasPulseTrim {
			uc = u * (1 + interpolate(e.pulseAt, t.ByPulsePct, u)/100)
		}
	}
	short := interpolate(e.shortAt, e.short, uc)
	if twoWay && e.byVoltage != nil {
		if short, err = e.byVoltage.at(v, uc); err != nil {
			return 0, err
		}
	}
	return uc + short + dead, nil
}

// at is the two-way look-up; it fails where a cell it touches is empty.
func (g gridTable) at(row, col float64) (float64, error) {
	i, fi := hats(g.rows, row)
	j, fj := hats(g.cols, col)
	sum := 0.0
	for di, wi := range [2]float64{1 - fi, fi} {
		for dj, wj := range [2]float64{1 - fj, fj} {
			if wi*wj <= 0 {
				continue
			}
			c := g.cells[i+di][j+dj]
			if !c.Status.HasValue() {
				return 0, ErrEmptyCell
			}
			sum += wi * wj * c.Value
		}
	}
	return sum, nil
}

// Volume is the volume in ml per shot whose looked-up pulse is the given one, the
// reverse of Pulse, by bisection; ok is false where no volume has that pulse.
func (e *ECU) Volume(id string, form Form, twoWay bool, pulse, p, v float64) (m float64, ok bool, err error) {
	flow := interpolate(e.flowAt, e.flow, p)
	lo, hi := 0.0, 2*pulse*flow/60000
	at := func(m float64) float64 {
		t, e := e.Pulse(id, form, twoWay, m, p, v)
		if e != nil {
			err = e
		}
		return t
	}
	if at(lo) > pulse || at(hi) < pulse || err != nil {
		return 0, false, err
	}
	for range 60 {
		if mid := (lo + hi) / 2; at(mid) < pulse {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2, true, err
}

// Inside tells whether a pulse at a pressure and voltage lies within the axes:
// the look-up holds the edge elsewhere.
func (e *ECU) Inside(m, p, v float64) bool {
	u := 60000 * m / interpolate(e.flowAt, e.flow, p)
	in := func(at []float64, x, tolerance float64) bool {
		return x >= at[0]-tolerance && x <= at[len(at)-1]+tolerance
	}
	return in(e.flowAt, p, 0.01*p) && in(e.dead.cols, p, 0.01*p) && in(e.dead.rows, v, 0.1) &&
		u >= e.shortAt[0]*0.98
}

// ReadableStatus tells whether a table read back has any cell to look up.
func ReadableStatus(t Table) bool {
	for _, row := range t.Cells {
		for _, c := range row {
			if c.Status == diag.OK || c.Status == diag.Unreliable {
				return true
			}
		}
	}
	return false
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

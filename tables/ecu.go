package tables

import (
	"errors"
	"math"
)

// A Form is a way of using the tables; one is used at a time.
type Form uint8

const (
	NoTrim       Form = iota // the mean injector for all
	FlowOnly                 // percentage alone
	FlowAndTime              // percentage with added ms
	FlowAndScale             // percentage with dead-time factor
	ByPulse                  // percentage by effective pulse
	OwnTables                // a flow and a dead-time table of each injector's own
)

func (f Form) String() string {
	return [...]string{"no_trim", "flow_only", "flow_and_time", "flow_and_factor", "by_pulse", "own_tables"}[f]
}

// Title says the form in words.
func (f Form) Title() string {
	return [...]string{"no trim", "percentage alone", "percentage and added time",
		"percentage and dead-time factor", "percentage by pulse", "tables of each injector's own"}[f]
}

// Forms are all ways of using the trims, the plainest first.
var Forms = []Form{NoTrim, FlowOnly, FlowAndTime, FlowAndScale, ByPulse, OwnTables}

// A Trim is one injector's row of the trims.
type Trim struct {
	Injector    string
	FlowOnlyPct float64
	FlowPct     float64
	TimeMs      float64
	FactorPct   float64
	DeadFactor  float64
	ByPulsePct  []float64 // at ECU.pulseAt; nil: none
	Cylinder    string
	own         *ownTables
}

// ownTables are those of one injector by itself.
type ownTables struct {
	flow listTable
	dead gridTable
}

// An ECU looks up the tables as an engine control unit does: linear between
// breakpoints, the last value held outside.
type ECU struct {
	flow      listTable // ml/min over kPa
	dead      gridTable // ms over V and kPa
	short     listTable // ms over effective ms
	byVoltage *gridTable
	trims     map[string]*Trim
	order     []string
	pulseAt   []float64
	// VolumeFactor turns a volume of the tables' fuel into bench fluid: divide.
	VolumeFactor float64
}

// A listTable is values over one rising axis.
type listTable struct{ at, values []float64 }

func (l listTable) look(x float64) float64 { return interpolate(l.at, l.values, x) }

// A gridTable is cells over two rising axes.
type gridTable struct {
	rows, cols []float64
	cells      [][]Cell
}

// ErrEmptyCell is a look-up that touches a cell without a value.
var ErrEmptyCell = errors.New("the look-up touches an empty cell of the table")

// look is the two-way look-up; it fails where a cell it touches is empty.
func (g gridTable) look(row, col float64) (float64, error) {
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

// Injectors are the ids of the trims, in the order of the table.
func (e *ECU) Injectors() []string { return e.order }

// TwoWay tells whether there is a correction over voltage and pulse.
func (e *ECU) TwoWay() bool { return e.byVoltage != nil }

// Forms are the ways of using the trims that these tables allow.
func (e *ECU) Forms() (out []Form) {
	for _, f := range Forms {
		switch f {
		case ByPulse:
			if e.pulseAt == nil {
				continue
			}
		case OwnTables:
			if len(e.order) == 0 || e.trims[e.order[0]].own == nil {
				continue
			}
		}
		out = append(out, f)
	}
	return out
}

// Pulse is the pulse in ms for a wanted volume of m ml per shot, by the rule of
// the tables, for an injector in the form of trim asked for; twoWay uses the
// correction over voltage and pulse. It fails where a cell looked up is empty.
func (e *ECU) Pulse(id string, form Form, twoWay bool, m, p, v float64) (float64, error) {
	at := e.at(p, v, twoWay)
	pulse := at.pulse(e.trim(id), form, m)
	if math.IsNaN(pulse) {
		return 0, ErrEmptyCell
	}
	return pulse, nil
}

// trim is an injector's row of the trims; no trim where the tables are not for it.
func (e *ECU) trim(id string) *Trim {
	if t, ok := e.trims[id]; ok {
		return t
	}
	return &Trim{DeadFactor: 1}
}

// late applies a form of the trims to a dead time in ms.
func (t *Trim) late(form Form, dead float64) float64 {
	switch form {
	case FlowAndTime:
		return dead + t.TimeMs
	case FlowAndScale:
		return dead * t.DeadFactor
	}
	return dead
}

// percent is the trim of a form that has one percentage for all pulses.
func (t *Trim) percent(form Form) float64 {
	switch form {
	case FlowOnly:
		return t.FlowOnlyPct
	case FlowAndTime:
		return t.FlowPct
	case FlowAndScale:
		return t.FactorPct
	}
	return 0
}

// trimmed applies a form of the trims to an effective pulse in ms.
func (e *ECU) trimmed(t *Trim, form Form, u float64) float64 {
	if form == ByPulse && t.ByPulsePct != nil {
		return Trimmed(u, interpolate(e.pulseAt, t.ByPulsePct, u))
	}
	return Trimmed(u, t.percent(form))
}

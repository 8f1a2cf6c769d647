package tables

import "math"

// A placed is what an ECU looks up once at a pressure and voltage for all injectors and
// pulses there.
type placed struct {
	ecu        *ECU
	at         rail
	flow, dead float64   // ml/min; ms, NaN where a cell is empty
	short      listTable // ms over effective ms, NaN where a cell is empty
	byVoltage  bool      // short is over voltage and pulse
}

// A rail is what all injectors get: kPa, V.
type rail struct{ p, v float64 }

// at looks up what is common at a pressure and voltage; twoWay uses the correction over
// voltage and pulse.
func (e *ECU) at(p, v float64, twoWay bool) placed {
	s := placed{ecu: e, short: e.short, byVoltage: twoWay && e.byVoltage != nil}
	if s.byVoltage {
		s.short = listTable{e.byVoltage.cols, make([]float64, len(e.byVoltage.cols))}
	}
	s.look(rail{p, v})
	return s
}

// move looks up another place. The readings of a run are at one.
func (s *placed) move(to rail) {
	if to != s.at {
		s.look(to)
	}
}

func (s *placed) look(at rail) {
	e := s.ecu
	s.at, s.flow, s.dead = at, e.flow.look(at.p), orNaN(e.dead.look(at.v, at.p))
	if s.byVoltage {
		e.byVoltage.row(at.v, s.short.values)
	}
}

// row fills in the list between the rows next to a place; NaN where a cell it takes part
// of is empty.
func (g *gridTable) row(x float64, values []float64) {
	i, part := hats(g.rows, x)
	for j := range values {
		values[j] = g.between(i, part, j)
	}
}

// between is the value of column j between the rows i and i+1; NaN where a cell that it
// takes part of is empty.
func (g *gridTable) between(i int, part float64, j int) float64 {
	c := &g.cells[i][j]
	value, ok := c.Value, c.Status.HasValue()
	if part > 0 {
		next := &g.cells[i+1][j]
		value, ok = value*(1-part)+next.Value*part, ok && next.Status.HasValue()
	}
	if !ok {
		return math.NaN()
	}
	return value
}

func orNaN(x float64, err error) float64 {
	if err != nil {
		return math.NaN()
	}
	return x
}

// pulse is the pulse in ms for a wanted volume of m ml per shot by a form of the trims;
// NaN where a cell looked up is empty.
func (s *placed) pulse(t *Trim, form Form, m float64) float64 {
	flow, dead := s.flowAndDead(t, form)
	uc := s.ecu.trimmed(t, form, Effective(m, flow))
	return Sum(uc, s.short.look(uc), dead)
}

// flowAndDead are the flow in ml/min and the dead time in ms of an injector, its trim of
// dead time with it; NaN where a cell of the dead time is empty.
func (s *placed) flowAndDead(t *Trim, form Form) (flow, dead float64) {
	if form == OwnTables && t.own != nil {
		return t.own.flow.look(s.at.p), orNaN(t.own.dead.look(s.at.v, s.at.p))
	}
	return s.flow, t.late(form, s.dead)
}

// inside tells whether the pulse for m ml per shot lies within the axes: the look-up holds
// the edge elsewhere.
func (s *placed) inside(m float64) bool {
	e, p, v := s.ecu, s.at.p, s.at.v
	in := func(axis []float64, x, tolerance float64) bool {
		return x >= axis[0]-tolerance && x <= axis[len(axis)-1]+tolerance
	}
	return in(e.flow.at, p, 0.01*p) && in(e.dead.cols, p, 0.01*p) && in(e.dead.rows, v, 0.1) &&
		Effective(m, s.flow) >= e.short.at[0]*0.98
}

package tables

import "math"

// A placed is what an ECU looks up once at a pressure and voltage for all injectors and
// pulses there.
type placed struct {
	ecu        *ECU
	p, v       float64
	flow, dead float64   // ml/min; ms, NaN where a cell is empty
	short      listTable // ms over effective ms, NaN where a cell is empty
}

// at looks up what is common at a pressure and voltage; twoWay uses the correction over
// voltage and pulse.
func (e *ECU) at(p, v float64, twoWay bool) placed {
	s := placed{ecu: e, p: p, v: v, flow: e.flow.look(p), dead: orNaN(e.dead.look(v, p)), short: e.short}
	if twoWay && e.byVoltage != nil {
		s.short = e.byVoltage.row(v)
	}
	return s
}

// row is the list between the rows next to a place; NaN where a cell it takes part of is
// empty.
func (g *gridTable) row(x float64) listTable {
	i, part := hats(g.rows, x)
	values := make([]float64, len(g.cols))
	for j := range values {
		value, ok := g.between(i, part, j)
		if values[j] = value; !ok {
			values[j] = math.NaN()
		}
	}
	return listTable{g.cols, values}
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
	flow, dead := s.flow, t.late(form, s.dead)
	if t.looksUpOwn(form) {
		var err error
		flow, dead, err = s.ecu.flowAndDead(t, form, s.p, s.v)
		dead = orNaN(dead, err)
	}
	uc := s.ecu.trimmed(t, form, Effective(m, flow))
	return Sum(uc, s.short.look(uc), dead)
}

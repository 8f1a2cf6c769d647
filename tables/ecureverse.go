package tables

import "math"

// Volume is the volume in ml per shot whose looked-up pulse is the given one, the
// reverse of Pulse; ok is false where no volume has that pulse. It fails where a cell
// that the look-up of this volume touches is empty.
func (e *ECU) Volume(id string, form Form, twoWay bool, pulse, p, v float64) (m float64, ok bool, err error) {
	at := e.at(p, v, twoWay)
	return at.volume(e.trim(id), form, pulse)
}

// volume is the reverse of pulse. Between breakpoints each step of the rule is straight, or
// with trims by pulse a parabola, so it is turned round step by step: that takes less than a
// tenth of the time of a search by false position.
func (s *placed) volume(t *Trim, form Form, pulse float64) (m float64, ok bool, err error) {
	flow, dead := s.flowAndDead(t, form)
	if math.IsNaN(dead) {
		return 0, false, ErrEmptyCell
	}
	uc, err := s.short.before(pulse - dead)
	if err != nil || uc < 0 {
		return 0, false, err
	}
	return s.ecu.untrimmed(t, form, uc) * flow / 60000, true, nil
}

// before finds x where x and the value at it make a sum: values fall more slowly than x
// rises. It fails where a value next to x is not known.
func (l listTable) before(sum float64) (float64, error) {
	last := len(l.at) - 1
	if sum <= l.at[0]+l.values[0] {
		return sum - l.values[0], nil
	}
	for i := 1; i <= last; i++ {
		from, to := l.at[i-1]+l.values[i-1], l.at[i]+l.values[i]
		switch {
		case !(sum <= to): // beyond, or not known
		case math.IsNaN(from):
			return 0, ErrEmptyCell
		default:
			return l.at[i-1] + (l.at[i]-l.at[i-1])*(sum-from)/(to-from), nil
		}
	}
	if math.IsNaN(l.values[last]) {
		return 0, ErrEmptyCell
	}
	return sum - l.values[last], nil
}

// untrimmed is the effective pulse in ms that a trim makes uc of.
func (e *ECU) untrimmed(t *Trim, form Form, uc float64) float64 {
	if form != ByPulse || t.ByPulsePct == nil {
		return uc / Trimmed(1, t.percent(form))
	}
	at, pct := e.pulseAt, t.ByPulsePct
	i := 0
	for i < len(at) && Trimmed(at[i], pct[i]) < uc {
		i++
	}
	if i == 0 || i == len(at) {
		return uc / Trimmed(1, pct[max(i-1, 0)])
	}
	// uc = u·(level + slope·u): the root of the rising side, without taking like numbers
	// from each other.
	slope := (pct[i] - pct[i-1]) / (at[i] - at[i-1]) / 100
	level := Trimmed(1, pct[i-1]) - slope*at[i-1]
	return 2 * uc / (level + math.Sqrt(level*level+4*slope*uc))
}

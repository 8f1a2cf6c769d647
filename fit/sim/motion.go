package sim

// A place is where the needle is.
type place uint8

const (
	onSeat place = iota
	between
	atStop
)

// A state is the injector at one instant; as a result of rates, its change per second.
type state struct {
	flux   float64 // Wb
	lift   float64 // m
	speed  float64 // m/s
	volume float64 // m³ delivered since the start
	needle place
}

// resting is the speed in m/s below which a needle no longer bounces.
const resting = 2e-3

func (s state) plus(k *state, h float64) state {
	s.flux += h * k.flux
	s.lift += h * k.lift
	s.speed += h * k.speed
	s.volume += h * k.volume
	return s
}

// rates is the change of s per second.
func (m *model) rates(s state, on bool) (k state) {
	k.flux = m.fluxRate(m.magnetising(s.flux, s.lift), on)
	if s.needle == onSeat {
		return k
	}
	f := m.flowPerLift(s.lift)
	k.volume = f * s.lift
	if s.needle == between {
		k.lift = s.speed
		k.speed = m.netForce(s, f) * m.invMass
	}
	return k
}

// leap is one step of the classical fourth-order Runge-Kutta method.
func (m *model) leap(s state, h float64, on bool) state {
	k1 := m.rates(s, on)
	k2 := m.rates(s.plus(&k1, h/2), on)
	k3 := m.rates(s.plus(&k2, h/2), on)
	k4 := m.rates(s.plus(&k3, h), on)
	s = s.plus(&k1, h/6)
	s = s.plus(&k2, h/3)
	s = s.plus(&k3, h/3)
	return s.plus(&k4, h/6)
}

// passed is positive once s has gone beyond where its needle's place holds: lifted
// off the seat, fallen off the stop, or run into either.
func (m *model) passed(s state) float64 {
	switch s.needle {
	case onSeat:
		if m.dead {
			return -1
		}
		return s.flux - m.needed()
	case atStop:
		return -m.netForce(s, m.flowPerLift(s.lift))
	}
	return max(-s.lift, s.lift-m.lift)
}

// forward goes h seconds on, no more than one step, through any change of place.
func (m *model) forward(s state, h float64, on bool) state {
	for h > 0 {
		next := m.leap(s, h, on)
		if m.passed(next) <= 0 {
			return next
		}
		part := m.changes(s, h, on)
		s = m.moved(m.leap(s, part, on))
		h -= part
	}
	return s
}

// changes is the time within h at which the needle's place changes, by bisection
// to within 10 ns and on its far side.
func (m *model) changes(s state, h float64, on bool) float64 {
	lo, hi := 0.0, h
	for hi-lo > 1e-8 {
		mid := (lo + hi) / 2
		if m.passed(m.leap(s, mid, on)) > 0 {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}

// moved gives s its needle's new place.
func (m *model) moved(s state) state {
	if s.needle != between {
		s.needle = between
		return s
	}
	stop := onSeat
	if s.lift = 0; s.speed > 0 {
		stop, s.lift = atStop, m.lift
	}
	s.speed *= -m.bounce
	if -resting < s.speed && s.speed < resting {
		s.speed, s.needle = 0, stop
	}
	return s
}

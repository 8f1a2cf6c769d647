package bench

import "math"

// A supply is readings at one setting of the supply: their voltages and, for its
// correlation with them, the part of the time that it drives. The sums are those of
// Welford, joined as by Chan, Golub and LeVeque (1979; both from memory).
type supply struct {
	n           float64
	lo, hi      float64 // V
	volts, duty float64 // means
	vv, dd, vd  float64 // sums of squares and products about the means
}

// newSupply is that of n readings alike.
func newSupply(n, volts, duty float64) supply {
	return supply{n: n, lo: volts, hi: volts, volts: volts, duty: duty}
}

func (s *supply) join(o supply) {
	if s.n <= 0 {
		*s = o
		return
	}
	n := s.n + o.n
	dv, dd, both := o.volts-s.volts, o.duty-s.duty, s.n*o.n/n
	s.lo, s.hi = math.Min(s.lo, o.lo), math.Max(s.hi, o.hi)
	s.vv, s.dd, s.vd = s.vv+o.vv+dv*dv*both, s.dd+o.dd+dd*dd*both, s.vd+o.vd+dv*dd*both
	s.volts, s.duty = s.volts+dv*o.n/n, s.duty+dd*o.n/n
	s.n = n
}

// sags tells whether the voltage falls as the duty grows.
func (s *supply) sags() bool {
	return s.n >= sagReadings && s.hi-s.lo >= sagVolts && s.dd > 0 && s.vd < -sagFit*math.Sqrt(s.vv*s.dd)
}

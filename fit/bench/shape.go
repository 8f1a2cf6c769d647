package bench

import (
	"math"

	"gonum.org/v1/gonum/interp"
)

// A shape is the family's effective pulse as a function of the pulse under one
// condition, through the points that three or more injectors were measured at. It
// is monotone; beyond its ends it goes on straight.
type shape struct {
	t, e             []float64 // ms
	first, last      float64   // slopes at the ends
	forward, inverse interp.FritschButland
}

const (
	shapePoints = 3
	apart       = 0.01 // ms, pulses closer than this are one
	steepest    = 2.0  // ms per ms: the flow of no injector grows faster with the pulse
)

// newShape drops what is not above the point before it.
func newShape(t, e []float64) *shape {
	s := &shape{first: 1, last: 1}
	for k := range t {
		if n := len(s.t); n > 0 && (t[k] < s.t[n-1]+apart || e[k] <= s.e[n-1]+1e-4) {
			continue
		}
		s.t, s.e = append(s.t, t[k]), append(s.e, e[k])
	}
	n := len(s.t)
	if n < shapePoints || s.forward.Fit(s.t, s.e) != nil || s.inverse.Fit(s.e, s.t) != nil {
		return nil
	}
	s.first = s.slope(s.t[0])
	s.last = s.slope(s.t[n-1])
	return s
}

func (s *shape) slope(t float64) float64 {
	switch n := len(s.t); {
	case t < s.t[0]:
		return s.first
	case t > s.t[n-1]:
		return s.last
	}
	return math.Min(steepest, math.Max(0.1, s.forward.PredictDerivative(t)))
}

// eff is the effective pulse of a pulse, ms, at least 0.
func (s *shape) eff(t float64) float64 {
	switch n := len(s.t); {
	case t < s.t[0]:
		return math.Max(0, s.e[0]+s.first*(t-s.t[0]))
	case t > s.t[n-1]:
		return s.e[n-1] + s.last*(t-s.t[n-1])
	}
	return s.forward.Predict(t)
}

// pulse is the pulse of an effective pulse, ms.
func (s *shape) pulse(e float64) float64 {
	switch n := len(s.t); {
	case e < s.e[0]:
		return s.t[0] + (e-s.e[0])/s.first
	case e > s.e[n-1]:
		return s.t[n-1] + (e-s.e[n-1])/s.last
	}
	return s.inverse.Predict(e)
}

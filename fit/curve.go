package fit

import "math"

// curve is a dead time that follows no physics: one value at each measured
// voltage, joined straight over 1/v, and a common slope over pressure.
//
//	d = e^pull · (D(v) + β·(p/p_ref − 1))
//
// θ = D at each node (ms), then β (ms) where several pressures were measured. It
// serves where too few voltages were measured for the coil form, or where that
// form does not fit.
type curve struct {
	ref      float64 // kPa
	nodes    nodes
	pressure bool // β is there
}

func (c curve) names() []string {
	n := make([]string, len(c.nodes.at), len(c.nodes.at)+1)
	for i := range n {
		n[i] = "dead_time_ms"
	}
	if c.pressure {
		n = append(n, "pressure_slope_ms")
	}
	return n
}

func (c curve) bind(_ []float64, pull float64) bound { return bound{own: math.Exp(pull)} }

func (c curve) locate(at place) located { return c.nodes.locate(at, c.ref) }

func (c curve) eval(th []float64, b bound, at located, grad []float64) (d, dPull float64) {
	k := len(c.nodes.at)
	d = c.nodes.apply(th[:k], at, grad)
	if c.pressure {
		rel := at.rel - 1
		d += th[k] * rel
		if grad != nil {
			grad[k] = rel
		}
	}
	own := b.own
	for i := range grad {
		grad[i] *= own
	}
	return d * own, d * own
}

func (c curve) at(th []float64, _ bound, p, v float64) deadPlace {
	d, _ := c.eval(th, bound{own: 1}, c.locate(place{p, v}), nil)
	return deadPlace{fixed: d}
}

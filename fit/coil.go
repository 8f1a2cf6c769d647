package fit

import "math"

// coil is the dead time of a solenoid whose R-L current must reach what spring
// and pressure ask for:
//
//	d = t0 − τ·ln(1 − x) + δ(v),   x = e^pull · (a + b·p) / v
//
// θ = t0 ms, ln τ (ms), ln a (V), b/a·p_ref (1), δ at each node (ms). The form is
// the solution of v = R·i + L·di/dt for the time at which i reaches a threshold;
// δ is a small deviation at each measured voltage, shrunk by a prior, that takes
// up what the form misses. t0, τ, a and b are not separately physical: their
// estimates are strongly correlated, only d is well known.
type coil struct {
	ref   float64 // p_ref, kPa
	nodes nodes   // voltages of the deviations; empty: none
	whole bool    // the factor is on the whole dead time instead of on x
}

const (
	coilT0 = iota
	coilTau
	coilA
	coilB
	coilDelta // the first deviation
)

// steepest is the x from which ln(1 − x) is continued as a straight line, so that
// the search may pass through conditions at which the injector would not open.
const steepest = 0.97

func (c coil) names() []string {
	n := []string{"t0_ms", "ln_tau", "ln_a", "b_ratio"}
	for range c.nodes.at {
		n = append(n, "deviation_ms")
	}
	return n
}

func (c coil) bind(th []float64, pull float64) bound {
	return bound{tau: math.Exp(th[coilTau]), a: math.Exp(th[coilA]), own: math.Exp(pull)}
}

func (c coil) locate(at place) located { return c.nodes.locate(at, c.ref) }

func (c coil) eval(th []float64, b bound, at located, grad []float64) (d, dPull float64) {
	tau, a, own, rel, v := b.tau, b.a, b.own, at.rel, at.v
	factor := own
	if c.whole {
		factor = 1
	}
	x := factor * a * (1 + th[coilB]*rel) / v
	l, dl := rise(x)
	dPull = tau * dl * x
	var deviations []float64
	if grad != nil {
		grad[coilT0] = 1
		grad[coilTau] = tau * l
		grad[coilA] = dPull
		grad[coilB] = tau * dl * factor * a * rel / v
		deviations = grad[coilDelta:]
	}
	d = th[coilT0] + tau*l
	d += c.nodes.apply(th[coilDelta:], at, deviations)
	if c.whole {
		for i := range grad {
			grad[i] *= own
		}
		d *= own
		dPull = d
	}
	return d, dPull
}

// rise is −ln(1 − x) and its derivative, continued straight beyond steepest.
func rise(x float64) (l, dl float64) {
	if x < steepest {
		return -math.Log1p(-x), 1 / (1 - x)
	}
	dl = 1 / (1 - steepest)
	return -math.Log1p(-steepest) + dl*(x-steepest), dl
}

func (c coil) at(th []float64, b bound, p, v float64) deadPlace {
	least := b.a * (1 + th[coilB]*p/c.ref)
	x, deviation := least/v, c.nodes.apply(th[coilDelta:], c.locate(place{p, v}), nil)
	if c.whole {
		l, _ := rise(x)
		return deadPlace{fixed: th[coilT0] + b.tau*l + deviation, leastVolts: least}
	}
	return deadPlace{rising: true, x: x, tau: b.tau, fixed: th[coilT0], deviation: deviation, leastVolts: least}
}

// nodes interpolates values given at some voltages, linear in 1/v (the time of a
// coil is nearly straight over 1/v) and held beyond the ends.
type nodes struct{ at []float64 } // rising, V

// apply gives the interpolated value and writes its gradient over the values into grad,
// which may be nil.
func (n nodes) apply(values []float64, at located, grad []float64) float64 {
	if len(n.at) == 0 {
		return 0
	}
	i, f := at.node, at.part
	if grad != nil {
		clear(grad[:len(n.at)])
		grad[i] = 1 - f
		if f > 0 {
			grad[i+1] = f
		}
	}
	if f > 0 {
		return values[i]*(1-f) + values[i+1]*f
	}
	return values[i]
}

// locate finds a place between the nodes and beside the reference pressure, in kPa.
func (n nodes) locate(at place, ref float64) located {
	out, last := located{v: at.v, rel: at.p / ref}, len(n.at)-1
	switch {
	case last < 1 || at.v <= n.at[0]:
	case at.v >= n.at[last]:
		out.node = last
	default:
		i := 0
		for at.v > n.at[i+1] {
			i++
		}
		out.node, out.part = i, (1/n.at[i]-1/at.v)/(1/n.at[i]-1/n.at[i+1])
	}
	return out
}

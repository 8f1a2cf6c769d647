package fit

import "math"

// A bend is the form of the short-pulse correction: g(w) = w + c.
type bend interface {
	names() []string
	// eval gives c in ms for an open time of w ms after a dead time of d ms at
	// v V, writes ∂c/∂θ into grad and returns ∂c/∂w and ∂c/∂d.
	eval(theta []float64, w, d, v float64, grad []float64) (c, dw, dd float64)
}

// straight has no bend: delivered fuel is linear down to nothing.
type straight struct{}

func (straight) names() []string { return nil }
func (straight) eval([]float64, float64, float64, float64, []float64) (c, dw, dd float64) {
	return 0, 0, 0
}

// decay is an exponential return to the straight line:
//
//	c = −E · e^(−w/B) · (v/v_ref)^m · e^(−κ·(d − d_ref))
//
// θ = E ms, ln B (ms), then m and κ (1/ms) where the form carries voltage. When a
// short pulse ends the coil's current is still rising, so the needle closes
// sooner than after a long one. How much sooner depends on the time since switch
// on, t = d + w (κ = 1/B would make it a function of t alone), and on the current
// that the voltage can drive (m).
type decay struct {
	voltage    bool // m and κ are parameters; else both are 0
	refV, refD float64
}

const (
	decayE = iota
	decayB
	decayM
	decayK
)

func (b decay) names() []string {
	if b.voltage {
		return []string{"bend_ms", "ln_bend_length", "bend_voltage_exponent", "bend_dead_time_rate"}
	}
	return []string{"bend_ms", "ln_bend_length"}
}

func (b decay) eval(th []float64, w, d, v float64, grad []float64) (c, dw, dd float64) {
	length := math.Exp(th[decayB])
	// A pulse shorter than the dead time delivers nothing: no need to let the
	// exponential run away there.
	e := -w / length
	if b.voltage {
		e += th[decayM]*math.Log(v/b.refV) - th[decayK]*(d-b.refD)
	}
	shape := -math.Exp(math.Min(e, steepestBend))
	c = th[decayE] * shape
	grad[decayE] = shape
	grad[decayB] = c * w / length
	dw = -c / length
	if b.voltage {
		grad[decayM] = c * math.Log(v/b.refV)
		grad[decayK] = -c * (d - b.refD)
		dd = -c * th[decayK]
	}
	return c, dw, dd
}

const steepestBend = 3.0

// knee is two straight segments with a smooth join: slope 1 above w0, slope
// 1 + k below, over a width h:
//
//	c = −k·h·ln(1 + e^((w0 − w)/h))
//
// θ = k, w0 ms, ln h (ms).
type knee struct{}

func (knee) names() []string { return []string{"knee_slope", "knee_ms", "ln_knee_width"} }

func (knee) eval(th []float64, w, _, _ float64, grad []float64) (c, dw, dd float64) {
	k, h := th[0], math.Exp(th[2])
	x := (th[1] - w) / h
	soft := softplus(x)
	part := 1 / (1 + math.Exp(-x))
	c = -k * h * soft
	grad[0] = -h * soft
	grad[1] = -k * part
	grad[2] = -k * h * (soft - x*part)
	return c, k * part, 0
}

// softplus is ln(1 + e^x) without overflow.
func softplus(x float64) float64 {
	if x > 30 {
		return x
	}
	return math.Log1p(math.Exp(x))
}

package fit

import "math"

// A returning bend is the form of the short-pulse correction, g(w) = w + c: an
// exponential return to the straight line and, where lift is set, the part below it in
// which the needle does not reach its stop:
//
//	c = −E · e^(−w/B) · (v/v_ref)^m · e^(−κ·(d − d_ref))  −  K·h·ln(1 + e^((w_s − w)/h))
//	w_s = w0 + w1·(d − d_ref)
//
// θ = E ms, ln B (ms); then m and κ (1/ms) where voltage is set; then K, w0 ms and
// w1 where lift is set.
//
// When a short pulse ends the coil's current is still rising, so the needle closes
// sooner than after a long one. How much sooner depends on the time since switch
// on, t = d + w (κ = 1/B would make it a function of t alone), and on the current
// that the voltage can drive (m). A still shorter pulse ends before the needle
// reaches its stop at w_s, which comes later where the needle is slower (w1).
type returning struct {
	voltage, lift bool
	refD          float64 // ms
}

// Places of the parameters; those of the lift follow the last one before.
const (
	bendE = iota
	bendB
	bendM
	bendK

	mostBend = bendK + 1 + 3 // parameters of all parts
)

// stopWidth is h in ms: the stop is hard, its image a little rounded by the spread
// of shots within a reading.
const stopWidth = 0.03

func (b returning) names() []string {
	n := []string{"bend_ms", "ln_bend_length"}
	if b.voltage {
		n = append(n, "bend_voltage_exponent", "bend_dead_time_rate")
	}
	if b.lift {
		n = append(n, "lift_slope", "lift_ms", "lift_dead_time_slope")
	}
	return n
}

// liftAt is the place of the first parameter of the lift.
func (b returning) liftAt() int {
	if b.voltage {
		return bendK + 1
	}
	return bendB + 1
}

// A fade is what all open times share: an exponential and a logarithm, which take as long
// as the rest.
type fade struct {
	length float64 // over which the bend fades, ms
	held   float64 // exponent from which the bend is held; +Inf: it is not
}

// fade works out how the bend fades. Where short pulses deliver more than the line
// (E < 0) it is held from where it would fall as fast as the pulse rises.
func (b returning) fade(th []float64) fade {
	f := fade{length: math.Exp(th[bendB]), held: math.Inf(1)}
	if size := th[bendE]; size < 0 && -size > f.length*math.Exp(-steepestBend) {
		f.held = math.Log(-f.length / size)
	}
	return f
}

// eval gives c in ms for an open time of w ms after a dead time of d ms, driven by
// ln(v/v_ref), writes ∂c/∂θ into grad, which may be nil, and returns ∂c/∂w and ∂c/∂d.
func (b returning) eval(th []float64, f fade, w, d, driven float64, grad []float64) (c, dw, dd float64) {
	if grad == nil {
		var spare [mostBend]float64
		grad = spare[:]
	}
	e := -w / f.length
	if b.voltage {
		e += th[bendM]*driven - th[bendK]*(d-b.refD)
	}
	c, dc := f.returned(th[bendE], e, grad) // dc: ∂c/∂e
	grad[bendB] += dc * w / f.length
	dw = -dc / f.length
	if b.voltage {
		grad[bendM] = dc * driven
		grad[bendK] = -dc * (d - b.refD)
		dd = -dc * th[bendK]
	}
	if b.lift {
		lc, ldw, ldd := b.stop(th[b.liftAt():], w, d, grad[b.liftAt():])
		c, dw, dd = c+lc, dw+ldw, dd+ldd
	}
	return c, dw, dd
}

// returned is −E·exp(e) with its slopes over E and ln B, held where it would run away
// in pulses hardly longer than the dead time: beyond steepestBend and beyond f.held. So g
// never falls, and one effective pulse has one open time.
func (f fade) returned(size, e float64, grad []float64) (c, de float64) {
	grad[bendB] = 0
	if e > f.held {
		grad[bendE], grad[bendB] = 0, f.length
		return f.length, 0
	}
	grad[bendE] = -math.Exp(min(e, steepestBend))
	c = size * grad[bendE]
	if e > steepestBend {
		return c, 0
	}
	return c, c
}

const steepestBend = 3.0

// stopFar is how many widths above the stop nothing of it is left to see.
const stopFar = 40

// stop is the part of the needle that does not reach its stop.
func (b returning) stop(th []float64, w, d float64, grad []float64) (c, dw, dd float64) {
	x := (th[1] + th[2]*(d-b.refD) - w) / stopWidth
	if x < -stopFar {
		clear(grad[:3])
		return 0, 0, 0
	}
	soft, part := softplus(x)
	grad[0] = -stopWidth * soft
	grad[1] = -th[0] * part
	grad[2] = grad[1] * (d - b.refD)
	return th[0] * grad[0], th[0] * part, grad[1] * th[2]
}

// softplus is ln(1 + e^x) without overflow, and its slope.
func softplus(x float64) (y, slope float64) {
	e := math.Exp(-math.Abs(x))
	if x > 0 {
		return x + math.Log1p(e), 1 / (1 + e)
	}
	return math.Log1p(e), e / (1 + e)
}

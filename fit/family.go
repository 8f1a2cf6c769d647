package fit

import "math"

// A family is the form of the model: which parameters there are and where they
// stand. Shared parameters come in the order n, dead-time curve, bend; local ones
// are ln S (µl/ms) at the reference pressure, the log-factor on the dead time, and
// a time of the injector's own in ms.
type family struct {
	refP, refV float64 // kPa, V
	freeN      bool    // n is a parameter; else it is fixedN
	fixedN     float64
	dead       deadCurve
	bend       bend
	pullSD     float64 // prior spread of the log-factors between injectors
	nDead      int     // numbers of parameters of each
	nBend      int
}

const (
	localFlow = iota // ln S
	localPull        // log-factor on the dead time
	localTime        // ms added to the dead time
	locals
)

func newFamily(refP, refV float64, freeN bool, dead deadCurve, b bend) family {
	return family{refP: refP, refV: refV, freeN: freeN, fixedN: 0.5, pullSD: widePull, dead: dead, bend: b,
		nDead: len(dead.names()), nBend: len(b.names())}
}

// shared is the number of shared parameters.
func (f family) shared() int { return 1 + f.nDead + f.nBend }

func (f family) deadAt(theta []float64) []float64 { return theta[1 : 1+f.nDead] }
func (f family) bendAt(theta []float64) []float64 { return theta[1+f.nDead:] }

// flow is S(p) in µl/ms for an injector; gradients are in logarithms: ∂ln S/∂ln S0
// is 1, and the returned value is ∂ln S/∂n.
func (f family) flow(local, theta []float64, p float64) (s, dn float64) {
	dn = math.Log(p / f.refP)
	n := theta[0]
	if !f.freeN {
		n = f.fixedN
	}
	return math.Exp(local[localFlow] + n*dn), dn
}

// driven is ln(v/v_ref), which drives the bend.
func (f family) driven(v float64) float64 { return math.Log(v / f.refV) }

// deadTime is d in ms; grad takes the gradient over the locals and then the
// shared parameters, and may be nil.
func (f family) deadTime(local, theta []float64, p, v float64, grad []float64) float64 {
	if grad == nil {
		grad = make([]float64, locals+f.shared())
	}
	return f.boundDeadTime(f.dead.bind(f.deadAt(theta), local[localPull]), local, theta, place{p, v}, grad)
}

func (f family) boundDeadTime(b bound, local, theta []float64, at place, grad []float64) float64 {
	clear(grad)
	d, dPull := f.dead.eval(f.deadAt(theta), b, at.p, at.v, f.deadAt(grad[locals:]))
	grad[localPull], grad[localTime] = dPull, 1
	return d + local[localTime]
}

// bind computes what all conditions of an injector share.
func (f family) bind(local, theta []float64) bound {
	b := f.dead.bind(f.deadAt(theta), local[localPull])
	b.length = f.bend.length(f.bendAt(theta))
	return b
}

// A setting is an injector at a place: what all its pulses there share.
type setting struct {
	place
	s, dn  float64   // static flow in µl/ms and ∂ln s/∂n
	d      float64   // dead time, ms
	grad   []float64 // of d over the locals, then the shared parameters; its part of the bend is spare
	driven float64   // ln(v/v_ref)
	length float64   // of the bend, ms
}

// set puts an injector in a place; grad is room for the gradient of its dead time, nil
// to make it.
func (f family) set(b bound, local, theta []float64, at place, grad []float64) setting {
	if grad == nil {
		grad = make([]float64, locals+f.shared())
	}
	out := setting{place: at, grad: grad, driven: f.driven(at.v), length: b.length}
	out.s, out.dn = f.flow(local, theta, at.p)
	out.d = f.boundDeadTime(b, local, theta, at, grad)
	return out
}

// shot is what one pulse delivers.
type shot struct {
	s float64 // static flow, µl/ms
	d float64 // dead time, ms
	w float64 // open time, ms
	u float64 // effective pulse g(w), ms; below 0 where nothing is delivered
	q float64 // delivered volume, µl; below 0 where nothing is delivered
}

// deliver computes one shot at a condition. With grad it also writes ∂q/∂(locals,
// shared) there; scratch, where given, must have the same length.
func (f family) deliver(local, theta []float64, c condition, grad, scratch []float64) shot {
	return f.shoot(theta, f.set(f.bind(local, theta), local, theta, c.place, scratch), c, grad)
}

// shoot is deliver for the many pulses of a setting.
func (f family) shoot(theta []float64, at setting, c condition, grad []float64) shot {
	if c.static {
		return f.heldOpen(at, c.period, grad)
	}
	w := c.pulse - at.d
	bendGrad := f.bendAt(at.grad[locals:])
	b, dw, dd := f.bend.eval(f.bendAt(theta), at.length, w, at.d, at.driven, bendGrad)
	out := shot{s: at.s, d: at.d, w: w, u: w + b}
	out.q = at.s * out.u
	if grad == nil {
		return out
	}
	through := at.s * (dd - 1 - dw) // ∂q/∂d
	for i, g := range at.grad[:locals+1+f.nDead] {
		grad[i] = g * through
	}
	for i, g := range bendGrad {
		grad[locals+1+f.nDead+i] = at.s * g
	}
	grad[localFlow], grad[locals] = out.q, f.slopeN(out.q*at.dn)
	return out
}

// heldOpen is what an injector delivers in a period in ms without closing.
func (f family) heldOpen(at setting, period float64, grad []float64) shot {
	q := at.s * period
	if grad != nil {
		clear(grad)
		grad[localFlow], grad[locals] = q, f.slopeN(q*at.dn)
	}
	return shot{s: at.s, u: period, w: period, q: q}
}

func (f family) slopeN(x float64) float64 {
	if f.freeN {
		return x
	}
	return 0
}

// open inverts the bend: the open time w in ms whose effective pulse is u ms, for an
// injector whose dead time is d ms at v V. Newton's steps from above, kept between
// bounds that close in; g never falls.
func (f family) open(theta []float64, u, d, v float64) float64 {
	grad, length, driven := make([]float64, f.nBend), f.bend.length(f.bendAt(theta)), f.driven(v)
	g := func(w float64) (float64, float64) {
		c, dw, _ := f.bend.eval(f.bendAt(theta), length, w, d, driven, grad)
		return w + c, 1 + dw
	}
	hi := u + 1
	for value, _ := g(hi); value < u; value, _ = g(hi) {
		hi += 1 + hi
	}
	lo, w := -lowestOpen, hi
	for range 80 {
		value, slope := g(w)
		if value < u {
			lo = w
		} else {
			hi = w
		}
		next := w - (value-u)/slope
		if math.Abs(next-w) < openDigits {
			return next
		}
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		w = next
	}
	return w
}

const (
	lowestOpen = 5.0   // ms: no bend reaches further below zero
	openDigits = 1e-11 // ms
)

// effective is g at an open time of w ms.
func (f family) effective(theta []float64, w, d, v float64) float64 {
	c, _, _ := f.bend.eval(f.bendAt(theta), f.bend.length(f.bendAt(theta)), w, d, f.driven(v), make([]float64, f.nBend))
	return w + c
}

package fit

import (
	"math"

	"injtab/fit/internal/lsq"
)

// A family is the form of the model: which parameters there are and where they
// stand. Shared parameters come in the order n, dead-time curve, bend; local ones
// are ln S (µl/ms) at the reference pressure, the log-factor on the dead time, and
// a time of the injector's own in ms.
type family struct {
	refP, refV float64 // kPa, V
	freeN      bool    // n is a parameter; else it is fixedN
	fixedN     float64
	dead       deadCurve
	bend       returning
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

func newFamily(refP, refV float64, freeN bool, dead deadCurve, b returning) family {
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
	dn = f.pressed(p)
	return f.pressedFlow(local, theta, dn), dn
}

// pressed is ln(p/p_ref), which the flow goes by.
func (f family) pressed(p float64) float64 { return math.Log(p / f.refP) }

// pressedFlow is S in µl/ms where ln(p/p_ref) is dn.
func (f *family) pressedFlow(local, theta []float64, dn float64) float64 {
	n := theta[0]
	if !f.freeN {
		n = f.fixedN
	}
	return math.Exp(local[localFlow] + n*dn)
}

// driven is ln(v/v_ref), which drives the bend.
func (f family) driven(v float64) float64 { return math.Log(v / f.refV) }

// deadTime is d in ms; grad, which may be nil and holds zeros, takes the gradient over
// the locals and then the shared parameters.
func (f family) deadTime(local, theta []float64, p, v float64, grad []float64) float64 {
	b := f.bind(local, theta)
	return f.boundDeadTime(&b, local, theta, f.dead.locate(place{p, v}), grad)
}

func (f *family) boundDeadTime(b *bound, local, theta []float64, at located, grad []float64) float64 {
	var own []float64
	if grad != nil {
		own = f.deadAt(grad[locals:])
	}
	d, dPull := f.dead.eval(f.deadAt(theta), *b, at, own)
	if grad != nil {
		grad[localPull], grad[localTime] = dPull, 1
	}
	return d + local[localTime]
}

// bind computes what all conditions of an injector share.
func (f *family) bind(local, theta []float64) bound {
	return f.dead.bind(f.deadAt(theta), local[localPull])
}

// fade computes what all open times share.
func (f *family) fade(theta []float64) fade { return f.bend.fade(f.bendAt(theta)) }

// A spot is a place with what the forms need to know of it, whatever the parameters are.
type spot struct {
	located
	logs
}

// logs are those that all parameters go by.
type logs struct {
	dn     float64 // ln(p/p_ref)
	driven float64 // ln(v/v_ref)
}

func (f *family) spot(at place) spot {
	return spot{f.dead.locate(at), logs{f.pressed(at.p), f.driven(at.v)}}
}

// A setting is an injector at a place: what all its pulses there share.
type setting struct {
	logs
	s    float64   // static flow, µl/ms
	d    float64   // dead time, ms
	grad []float64 // of d over the locals, then the shared parameters; nil: not wanted
	fade fade
}

// set puts an injector in a place. It and shoot are called millions of times by the fit of
// an archive: what goes in and out by value has four words at the most, all else goes by its
// address. Larger values are copied through memory, which took a third of the time with
// gradients and half of it without.
func (f *family) set(at *setting, b *bound, local, theta []float64, where *spot) {
	at.logs = where.logs
	at.s = f.pressedFlow(local, theta, where.dn)
	at.d = f.boundDeadTime(b, local, theta, where.located, at.grad)
}

// shot is what one pulse delivers.
type shot struct {
	s float64 // static flow, µl/ms
	d float64 // dead time, ms
	w float64 // open time, ms
	q float64 // delivered volume, µl; below 0 where nothing is delivered
}

// deliver computes one shot at a condition. With grad, which may be nil, it also writes
// ∂q/∂(locals, shared) there, for which scratch must have the same length.
func (f family) deliver(local, theta []float64, c condition, grad, scratch []float64) shot {
	b := f.bind(local, theta)
	here, at := f.spot(c.place), setting{grad: scratch, fade: f.fade(theta)}
	f.set(&at, &b, local, theta, &here)
	return f.shoot(theta, &at, &c, grad)
}

// shoot is deliver for the many pulses of a setting.
func (f *family) shoot(theta []float64, at *setting, c *condition, grad []float64) shot {
	if c.static {
		return f.heldOpen(at, c.period, grad)
	}
	w := c.pulse - at.d
	var bendGrad []float64
	if grad != nil {
		bendGrad = f.bendAt(grad[locals:])
	}
	b, dw, dd := f.bend.eval(f.bendAt(theta), at.fade, w, at.d, at.driven, bendGrad)
	out := shot{s: at.s, d: at.d, w: w, q: at.s * (w + b)}
	if grad == nil {
		return out
	}
	through := at.s * (dd - 1 - dw) // ∂q/∂d
	for i, g := range at.grad[:locals+1+f.nDead] {
		grad[i] = g * through
	}
	for i := range bendGrad {
		bendGrad[i] *= at.s
	}
	grad[localFlow], grad[locals] = out.q, f.slopeN(out.q*at.dn)
	return out
}

// shots are those of an injector's readings.
func (f family) shots(local, theta []float64, group []datum) []shot {
	out := make([]shot, len(group))
	b, at := f.bind(local, theta), setting{fade: f.fade(theta)}
	for i := range group {
		c := &group[i].c
		if i == 0 || c.place != group[i-1].c.place {
			here := f.spot(c.place)
			f.set(&at, &b, local, theta, &here)
		}
		out[i] = f.shoot(theta, &at, c, nil)
	}
	return out
}

// allShots are those of all injectors.
func (f family) allShots(d dataset, s lsq.Start) [][]shot {
	out := make([][]shot, len(d.groups))
	share(len(out), func(g int) { out[g] = f.shots(s.Local[g], s.Shared, d.groups[g]) })
	return out
}

// heldOpen is what an injector delivers in a period in ms without closing.
func (f *family) heldOpen(at *setting, period float64, grad []float64) shot {
	q := at.s * period
	if grad != nil {
		clear(grad)
		grad[localFlow], grad[locals] = q, f.slopeN(q*at.dn)
	}
	return shot{s: at.s, w: period, q: q}
}

func (f family) slopeN(x float64) float64 {
	if f.freeN {
		return x
	}
	return 0
}

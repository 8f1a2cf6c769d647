package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"injtab/fit/bench"
	"injtab/fit/diag"
	"injtab/fit/unit"
)

// Options of a fit; the zero value is the honest default.
type Options struct {
	// Assume lets a dependence that was not measured (pressure, voltage) follow
	// a generic curve, marked assumed.
	Assume bool
}

// A Model is a fitted family of injectors.
type Model struct {
	Checked  bench.Checked
	Members  []Member // fitted injectors, in natural order
	Choices  []Choice // the forms tried
	Effects  []Effect // of runs and slots, where they can be told from the injectors
	Noise    Noise
	Notes    []diag.Note
	RefP     unit.Pressure // at which results are quoted: rated, or the nearest measured
	RefV     unit.Voltage
	options  Options
	sol      solution
	gauges   gauges
	factor   float64 // coverage factor of the intervals
	measured region
	dataN    []int     // readings of each member
	bounds   []bound   // of each member
	fade     fade      // of all
	flows    []float64 // of each member at the reference pressure, µl/ms
	shots    [][]shot  // of every reading, by member
}

// Who picks injectors by their index in Members; values are means over them.
type Who []int

// Everyone is all members.
func (m *Model) Everyone() Who {
	w := make(Who, len(m.Members))
	for i := range w {
		w[i] = i
	}
	return w
}

// Find gives the member with this id.
func (m *Model) Find(id string) (int, bool) {
	i := slices.IndexFunc(m.Members, func(x Member) bool { return x.ID == id })
	return i, i >= 0
}

func (m *Model) readings(who Who) (n int) {
	for _, g := range who {
		n += m.dataN[g]
	}
	return n
}

// Flow is the static flow in ml/min at a pressure, the mean over who.
func (m *Model) Flow(who Who, p unit.Pressure) Estimate {
	basis, status := m.measured.flow(p.KPa(), m.options)
	if !status.HasValue() {
		return Estimate{Status: status, Basis: basis}
	}
	value, gr := m.mean(who, func(g int, grad []float64) float64 {
		s, dn := m.sol.flow(m.sol.Local[g], m.sol.Shared, p.KPa())
		grad[localFlow], grad[locals] = s, s*dn
		return s
	})
	n := m.exponent()
	form := flowForm * value
	if basis >= diag.Extrapolated {
		form = math.Hypot(form, 0.03*value*m.measured.beyondPressure(p.KPa()))
	}
	e := m.interval(value, m.variance(gr), limited(value*n*m.gauges.pressure), limited(value*m.gauges.volume), formed(form))
	return m.finish(scale(e, 1/mlMinute), who, basis, status)
}

// flowForm is the relative standard uncertainty of the power law itself: how
// well a straight line's slope tells the flow of an injector held open.
const flowForm = 0.001

func (m *Model) exponent() float64 { return m.sol.Shared[0] }

func (m *Model) finish(e Estimate, who Who, basis diag.Basis, status diag.Status) Estimate {
	e.N, e.Basis, e.Status = m.readings(who), basis, status
	return e
}

func scale(e Estimate, by float64) Estimate {
	e.Value, e.Lo, e.Hi = e.Value*by, e.Lo*by, e.Hi*by
	return e
}

// DeadTime is the dead time in ms at a pressure and voltage, the mean over who.
func (m *Model) DeadTime(who Who, p unit.Pressure, v unit.Voltage) Estimate {
	basis, status := m.state(who, p, v)
	if !status.HasValue() {
		return Estimate{Status: status, Basis: basis}
	}
	at := func(p, v float64) float64 { return m.meanDead(who, m.deadPlace(place{p, v})) }
	here := m.sol.dead.locate(place{p.KPa(), v.V()})
	value, gr := m.mean(who, func(g int, grad []float64) float64 {
		return m.sol.boundDeadTime(&m.bounds[g], m.sol.Local[g], m.sol.Shared, here, grad)
	})
	dp, dv := logSlopes(at, p.KPa(), v.V())
	e := m.interval(value, m.variance(gr), limited(dp*m.gauges.pressure), limited(dv*m.gauges.voltage), limited(m.gauges.timer),
		formed(m.deadForm(at, p.KPa(), v.V(), deadTimeForm)), formed(m.bendTail()))
	return m.finish(e, who, basis, status)
}

// logSlopes are ∂f/∂ln p and ∂f/∂ln v by central differences.
func logSlopes(f func(p, v float64) float64, p, v float64) (dp, dv float64) {
	const h = 1e-3
	return (f(p*(1+h), v) - f(p*(1-h), v)) / (2 * h), (f(p, v*(1+h)) - f(p, v*(1-h))) / (2 * h)
}

// deadForm is the standard uncertainty in ms of the form of the dead-time curve:
// form everywhere, and a part of the way from the nearest measured condition.
func (m *Model) deadForm(at func(p, v float64) float64, p, v, form float64) float64 {
	np, nv := m.measured.clamp(p, v)
	if gap := m.measured.voltageGap(v); gap > 0 {
		form = math.Hypot(form, 0.005*gap)
	}
	beyond := math.Abs(at(p, v) - at(np, nv))
	return math.Hypot(form, 0.15*beyond)
}

// deadTimeForm is how far, in ms, the form may misplace the dead time. The sum of dead
// time and bend is pinned down by the readings themselves.
const deadTimeForm = 0.004

// bendTail is the standard uncertainty in ms of where the straight line lies that
// long pulses return to: a part of the bend's size, the larger the fewer different
// pulses the bend was seen at.
func (m *Model) bendTail() float64 {
	return 0.4 / float64(max(m.measured.pulses, 2)) * math.Abs(m.sol.bendAt(m.sol.Shared)[bendE])
}

// Delivered is what one pulse delivers in ml, the mean over who.
func (m *Model) Delivered(who Who, pulse unit.Time, p unit.Pressure, v unit.Voltage) Estimate {
	basis, status := m.state(who, p, v)
	if !status.HasValue() {
		return Estimate{Status: status, Basis: basis}
	}
	c := condition{pulse: pulse.Ms(), period: math.Inf(1), place: place{p.KPa(), v.V()}}
	at := func(p, v float64) float64 {
		c := c
		c.place = place{p, v}
		q := 0.0
		for _, g := range who {
			q += math.Max(m.deliver(g, c).q, 0) / float64(len(who))
		}
		return q
	}
	scratch := make([]float64, locals+m.sol.shared())
	var w, s float64
	value, gr := m.mean(who, func(g int, grad []float64) float64 {
		out := m.sol.deliver(m.sol.Local[g], m.sol.Shared, c, grad, scratch)
		w, s = out.w, out.s
		return math.Max(out.q, 0)
	})
	dp, dv := logSlopes(at, c.p, c.v)
	e := m.interval(value, m.variance(gr), limited(dp*m.gauges.pressure), limited(dv*m.gauges.voltage), limited(s*m.gauges.timer),
		limited(value*m.gauges.volume), formed(value*m.form(w)),
		formed(s*m.deadForm(func(p, v float64) float64 { return m.meanDead(who[:1], m.deadPlace(place{p, v})) }, c.p, c.v, 0)))
	if w < m.measured.shortest {
		basis = max(basis, diag.Extrapolated)
	}
	return m.finish(scale(e, 1/microlitres), who, basis, status)
}

// form is the relative standard uncertainty of the model's form at an open time:
// part of what short pulses scatter beyond vessel and count is scatter, which the
// fit averages, the rest is the form.
func (m *Model) form(w float64) float64 {
	n := m.Noise
	n.RelativePct, n.ShortPct = 0, 0.12*n.ShortPct
	return n.relative(w)
}

// Correction is the short-pulse correction in ms, g⁻¹(u) − u, that the mean
// injector of who needs at an effective pulse.
func (m *Model) Correction(who Who, effective unit.Time, p unit.Pressure, v unit.Voltage) Estimate {
	basis, status := m.state(who, p, v)
	if !status.HasValue() {
		return Estimate{Status: status, Basis: basis}
	}
	u := effective.Ms()
	d := m.meanDead(who, m.deadPlace(place{p.KPa(), v.V()}))
	bend := m.BendAt(v)
	w := bend.open(u, d)
	gr := gradient{shared: make([]float64, m.sol.shared())}
	slopes := m.sol.bendAt(gr.shared)
	_, dw, _ := bend.form.eval(bend.theta, bend.fade, w, d, bend.driven, slopes)
	floats.Scale(-1/(1+dw), slopes)
	e := m.interval(w-u, m.variance(gr), formed(u*m.form(w)))
	if w < m.measured.shortest {
		basis = max(basis, diag.Extrapolated)
	}
	return m.finish(e, who, basis, status)
}

// Pulse is the pulse in ms that delivers a volume, for one injector or the mean
// of several: dead time and open time from the same curves that Delivered uses.
func (m *Model) Pulse(who Who, volume unit.Volume, p unit.Pressure, v unit.Voltage) Estimate {
	basis, status := m.state(who, p, v)
	if !status.HasValue() {
		return Estimate{Status: status, Basis: basis}
	}
	flow, dead := m.Flow(who, p), m.DeadTime(who, p, v)
	u := volume.Ml() / (flow.Value / 60000)
	w := m.BendAt(v).open(u, dead.Value)
	half := m.Delivered(who, unit.Ms(w+dead.Value), p, v).CI95() / (flow.Value / 60000)
	e := Estimate{Value: w + dead.Value, Lo: w + dead.Value - half, Hi: w + dead.Value + half, Level: Level}
	return m.finish(e, who, max(basis, flow.Basis), status)
}

// state tells what a value at a pressure and voltage rests on and whether the
// injectors open there at all.
func (m *Model) state(who Who, p unit.Pressure, v unit.Voltage) (diag.Basis, diag.Status) {
	return m.stateAt(who, p, v, m.deadPlace(place{p.KPa(), v.V()}))
}

func (m *Model) stateAt(who Who, p unit.Pressure, v unit.Voltage, at deadPlace) (diag.Basis, diag.Status) {
	basis, status := m.measured.at(p.KPa(), v.V(), m.options)
	if !status.HasValue() {
		return basis, status
	}
	// A curve through measured voltages knows nothing beyond them, and a dead time
	// held there would be too short at a low supply: lean.
	if _, held := m.sol.dead.(curve); held && !inside(m.measured.voltages, v.V(), 0.1) {
		return basis, diag.NotMeasured
	}
	for _, g := range who {
		least := at.opening(m.bounds[g].own)
		switch {
		case v.V() < 1.05*least || v.V() <= m.silentAt(g, p.KPa()):
			return basis, diag.DoesNotOpen
		case v.V() < 1.15*least:
			status = diag.Unreliable
		}
	}
	return basis, status
}

// silentAt is the highest voltage at which a long pulse of member g delivered
// nothing at this pressure or a lower one.
func (m *Model) silentAt(g int, p float64) (v float64) {
	for _, x := range m.sol.data.silent[g] {
		if x.c.p <= p*1.01 && x.c.pulse > longPulse {
			v = math.Max(v, x.c.v)
		}
	}
	return v
}

// longPulse in ms is long enough for any injector that can open to do so.
const longPulse = 4

package fit

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"injtab/fit/bench"
	"injtab/fit/diag"
	"injtab/fit/internal/lsq"
	"injtab/fit/unit"
)

// LeastOffTime is the time in ms between two pulses below which the fit leaves a
// reading out of the curve: the injector may not have closed.
const LeastOffTime = shortOff

// LeastOpenTime is the open time in ms below which the fit sets a reading aside.
const LeastOpenTime = leastOpen

// An Expectation is what is believed of injectors and bench before anything is
// measured.
type Expectation struct {
	Flow     unit.VolumeFlow // static, at the setup's rated pressure
	DeadTime unit.Time       // at rated pressure and 13.5 V; 0: a usual one
	Scatter  Scatter
}

// A Scatter holds the standard deviations of what is new in every run of the
// bench or in every reading. The vessel's division and the count of shots are not
// in it: they belong to the readings.
type Scatter struct {
	Pressure  unit.Ratio   // from run to run
	Voltage   unit.Voltage // from run to run
	Technique unit.Ratio   // of a reading: catching, froth, temperature
	Residue   unit.Volume  // what draining leaves in a vessel, one time and another
	Judgement unit.Ratio   // of a division, by eye
}

// UsualScatter is that of a careful operator (common practice, no source).
func UsualScatter() Scatter {
	return Scatter{Pressure: 0.003, Voltage: 0.02, Technique: 0.002, Residue: unit.Ml(0.15), Judgement: 0.15}
}

// A Prospect is what a session that is only planned would tell. Its numbers come
// from the fit's own Jacobian at the expected parameters.
type Prospect struct {
	// Model is the fit as it would come out if every reading fell on the curve:
	// its intervals are those that the fit would print.
	Model   *Model
	effect  influence
	sources []source // of each reading that the fit would use
}

// Predict tells what the planned readings would determine. The readings need
// injector, pulse, period, shots, pressure, voltage and division; those of one run
// share its drift of pressure and supply, those of one vessel its calibration. An
// error says in one sentence why the session could not be fitted.
func Predict(e Expectation, s bench.Setup, planned []bench.Reading) (*Prospect, error) {
	c, d, f, err := e.design(s, planned)
	if err != nil {
		return nil, err
	}
	start := e.start(f, c.Setup().RatedPressure, len(d.groups))
	src := e.sources(f, start, c.Readings(), d)
	noise := expectedNoise(f, start, d, src)
	sd := f.deviations(d, start, noise)
	for k := range src {
		src[k].sd = sd[src[k].g][src[k].i]
	}
	problem := f.problem(d, sd)
	sol, err := lsq.Forecast(problem, start)
	if err != nil {
		return nil, fmt.Errorf("the planned session leaves something open that the fit needs: %w", err)
	}
	effect, err := newInfluence(problem, start)
	if err != nil {
		return nil, err
	}
	m := newModel(c, solution{family: f, Solution: sol, weights: ones(d), noise: noise, data: d}, Options{})
	m.fill()
	return &Prospect{Model: m, effect: effect, sources: src}, nil
}

// design gathers the planned readings as the fit would, and the form that it would
// then fit.
func (e Expectation) design(s bench.Setup, planned []bench.Reading) (c bench.Checked, d dataset, f family, err error) {
	c, err = e.imagine(s, planned)
	if err != nil {
		return c, d, f, err
	}
	d = gather(c)
	if len(d.groups) == 0 || !d.pulsed() {
		return c, d, f, fmt.Errorf("the planned session has no pulses that the fit could use: plan pulses at least %.3g ms longer than the dead time and %.3g ms shorter than the period", leastOpen, shortOff)
	}
	refP, refV := reference(d, c.Setup())
	gs, ok := startGuess(d, refP, len(d.flowPressures()) > 1)
	if !ok {
		return c, d, f, errors.New("the planned session takes no injector through two pulses half a millisecond apart at one pressure and voltage, so that flow and dead time could not be told apart: plan a second pulse")
	}
	d.setBriefAside(gs)
	f = supported(d, gs, refP, refV, Options{}).fullest()
	f.bend.refD = coilTime(e.coil(), refP/s.RatedPressure.KPa(), refV) // the usual bend is told about the expected dead time, not about a guess
	return c, d, f, nil
}

// imagine makes the sheet that the planned session would bring, every reading on
// the expected curve, and has it checked as any other.
func (e Expectation) imagine(s bench.Setup, planned []bench.Reading) (bench.Checked, error) {
	f, start := e.generic(s.RatedPressure)
	readings := make([]bench.Reading, len(planned))
	for i, r := range planned {
		if !r.Leak() {
			q := f.deliver(start.Local[0], start.Shared, conditionOf(r.Dose()), nil, nil).q
			r.Volume = unit.Ml(math.Max(q, 0) * r.Shots / microlitres)
		}
		readings[i] = r
	}
	c, _, err := bench.Check(bench.Sheet{File: "plan", Setup: s, Readings: bench.NewReadings(readings...)})
	return c, err
}

// fullest is the richest short-pulse form with the default dead-time curve: where a
// session supports it, the criterion nearly always takes it.
func (f forms) fullest() family {
	best := 0
	for i, b := range f.bends {
		if len(b.names()) > len(f.bends[best].names()) {
			best = i
		}
	}
	return f.candidate(0, best).family
}

func ones(d dataset) [][]float64 {
	w := make([][]float64, len(d.groups))
	for g, group := range d.groups {
		w[g] = make([]float64, len(group))
		for i := range w[g] {
			w[g][i] = 1
		}
	}
	return w
}

// A Prediction is a quantity with the standard uncertainties that it would have,
// in the quantity's unit.
type Prediction struct {
	Value  float64
	Random float64 // what another session with the same gauges would differ by
	Gauges float64 // gauge, voltmeter, timer, vessels: common to the session, repeats don't help
	CI95   float64 // half-width of the interval as the fit would print it
	Status diag.Status
}

// U is the standard uncertainty of both.
func (p Prediction) U() float64 { return math.Hypot(p.Random, p.Gauges) }

// Flow is the static flow in ml/min at a pressure, the mean over who.
func (p *Prospect) Flow(who Who, pr unit.Pressure) Prediction {
	m := p.Model
	_, gr := m.mean(who, func(g int, grad []float64) float64 {
		s, dn := m.sol.flow(m.sol.Local[g], m.sol.Shared, pr.KPa())
		grad[localFlow], grad[locals] = s, m.sol.slopeN(s*dn)
		return s
	})
	return p.predict(m.Flow(who, pr), gr, 1/mlMinute)
}

// DeadTime is the dead time in ms, the mean over who.
func (p *Prospect) DeadTime(who Who, pr unit.Pressure, v unit.Voltage) Prediction {
	m := p.Model
	_, gr := m.mean(who, func(g int, grad []float64) float64 {
		return m.sol.deadTime(m.sol.Local[g], m.sol.Shared, pr.KPa(), v.V(), grad)
	})
	return p.predict(m.DeadTime(who, pr, v), gr, 1)
}

// Delivered is what a pulse delivers in ml that keeps the mean injector of who
// open for a time: dead time and open time together are the pulse.
func (p *Prospect) Delivered(who Who, open unit.Time, pr unit.Pressure, v unit.Voltage) Prediction {
	return p.DeliveredBy(who, open+unit.Ms(p.Model.DeadTime(who, pr, v).Value), pr, v)
}

// DeliveredBy is what a pulse delivers in ml, the mean over who.
func (p *Prospect) DeliveredBy(who Who, pulse unit.Time, pr unit.Pressure, v unit.Voltage) Prediction {
	_, gr := p.Model.mean(who, p.delivery(pulse, pr, v))
	return p.predict(p.Model.Delivered(who, pulse, pr, v), gr, 1/microlitres)
}

// DeliveredDifference is by what part member g delivers more than the mean over
// who at a pulse (0.01: one per cent).
func (p *Prospect) DeliveredDifference(g int, who Who, pulse unit.Time, pr unit.Pressure, v unit.Voltage) Prediction {
	q := p.delivery(pulse, pr, v)
	mean, all := p.Model.mean(who, q)
	own, gr := p.Model.mean(Who{g}, q)
	gr = gr.less(all)
	e := Estimate{Value: own - mean, Status: p.Model.Delivered(who, pulse, pr, v).Status}
	half := lsq.T(Level, max(p.Model.sol.DoF, 1)) * math.Sqrt(p.Model.variance(gr))
	e.Lo, e.Hi = e.Value-half, e.Value+half
	return p.predict(e, gr, 1/mean)
}

func (p *Prospect) delivery(pulse unit.Time, pr unit.Pressure, v unit.Voltage) quantity {
	m := p.Model
	c := condition{pulse: pulse.Ms(), period: math.Inf(1), place: place{pr.KPa(), v.V()}}
	scratch := make([]float64, locals+m.sol.shared())
	return func(g int, grad []float64) float64 {
		return m.sol.deliver(m.sol.Local[g], m.sol.Shared, c, grad, scratch).q
	}
}

// less is the gradient of the difference from another quantity.
func (gr gradient) less(b gradient) gradient {
	out := gradient{shared: slices.Clone(gr.shared)}
	floats.Sub(out.shared, b.shared)
	out.local = lsq.Locals{Groups: slices.Clone(gr.local.Groups), Slopes: slices.Clone(gr.local.Slopes)}
	for k, g := range b.local.Groups {
		at := slices.Index(out.local.Groups, g)
		if at < 0 {
			at = len(out.local.Groups)
			out.local.Groups = append(out.local.Groups, g)
			out.local.Slopes = append(out.local.Slopes, make([]float64, locals)...)
		}
		floats.Sub(out.of(at), b.of(k))
	}
	return out
}

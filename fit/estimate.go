package fit

import (
	"math"

	"injtab/fit/diag"
	"injtab/fit/internal/lsq"
)

// An Estimate is a number that knows how sure it is.
type Estimate struct {
	Value  float64
	Lo, Hi float64 // ends of the interval
	Level  float64 // of the interval: 0.95
	N      int     // readings of the injectors that it is for
	Basis  diag.Basis
	Status diag.Status // without a value the numbers are 0
}

// CI95 is the half-width of the interval.
func (e Estimate) CI95() float64 { return (e.Hi - e.Lo) / 2 }

// Level is the level of all intervals.
const Level = 0.95

// A gradient is how a quantity moves with the parameters.
type gradient struct {
	shared []float64
	local  lsq.Locals // of members
}

// of is the part over the locals of the member at place k.
func (gr gradient) of(k int) []float64 { return gr.local.Slopes[k*locals : (k+1)*locals] }

// a quantity gives a value for one injector and writes its gradient over locals
// and shared parameters.
type quantity func(g int, grad []float64) float64

// mean averages a quantity over injectors.
func (m *Model) mean(who Who, q quantity) (value float64, gr gradient) {
	gr = gradient{make([]float64, m.sol.shared()), lsq.Locals{Groups: who, Slopes: make([]float64, 0, len(who)*locals)}}
	part := 1 / float64(len(who))
	grad := make([]float64, locals+m.sol.shared())
	for _, g := range who {
		clear(grad)
		value += part * q(g, grad)
		for _, x := range grad[:locals] {
			gr.local.Slopes = append(gr.local.Slopes, part*x)
		}
		for i := range gr.shared {
			gr.shared[i] += part * grad[locals+i]
		}
	}
	return value, gr
}

// variance is what the readings leave open about a quantity: its variance by the
// fit, never below what the readings' own uncertainties allow.
func (m *Model) variance(gr gradient) float64 {
	return m.sol.Variance(gr.shared, gr.local) * math.Max(1, m.sol.Scale()*m.sol.Scale())
}

// A part is a standard uncertainty that is common to the session and so enters a
// result once. Those of gauges and vessels come from limits of error: anywhere
// within them alike.
type part struct {
	u       float64
	limited bool
}

func limited(u float64) part { return part{u, true} }
func formed(u float64) part  { return part{u, false} }

// interval finishes an estimate from the fit's variance and the parts beside it.
func (m *Model) interval(value, variance float64, parts ...part) Estimate {
	fourth := 0.0
	for _, x := range parts {
		variance += x.u * x.u
		if x.limited {
			fourth += x.u * x.u * x.u * x.u
		}
	}
	k := m.factor
	if variance > 0 {
		k *= coverage(fourth/(variance*variance)) / coverage(0)
	}
	half := k * math.Sqrt(variance)
	return Estimate{Value: value, Lo: value - half, Hi: value + half, Level: Level}
}

// normalFactor is the coverage factor of a normal error, with the degrees of freedom
// that the fit has.
func (s solution) normalFactor() float64 { return lsq.T(Level, max(s.DoF, leastDoF)) }

// leastDoF: with fewer degrees of freedom the readings' uncertainties are those of
// vessel, count and usual technique, known beforehand, not estimated from a few
// residuals.
const leastDoF = 20

// coverage is the factor that makes a 95 % interval of a standard uncertainty of
// which limits of error hold a share: from 1.96 for a normal error down to 1.645
// for one that is anywhere within a limit alike. share is Σu⁴ of the limited parts
// over the square of the whole variance; the table was computed for one limited
// and one normal error (EA-4/02 treats the same case; from memory).
func coverage(share float64) float64 {
	shares := []float64{0, 0.0625, 0.25, 0.49, 0.64, 0.81, 0.9025, 1}
	factors := []float64{1.96, 1.949, 1.915, 1.856, 1.809, 1.743, 1.697, 1.646}
	for i := 1; i < len(shares); i++ {
		if share <= shares[i] {
			f := (share - shares[i-1]) / (shares[i] - shares[i-1])
			return factors[i-1] + f*(factors[i]-factors[i-1])
		}
	}
	return factors[len(factors)-1]
}

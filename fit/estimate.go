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
	local  map[int][]float64
}

// a quantity gives a value for one injector and writes its gradient over locals
// and shared parameters.
type quantity func(g int, grad []float64) float64

// mean averages a quantity over injectors.
func (m *Model) mean(who Who, q quantity) (value float64, gr gradient) {
	gr = gradient{make([]float64, m.sol.shared()), make(map[int][]float64, len(who))}
	part := 1 / float64(len(who))
	grad := make([]float64, locals+m.sol.shared())
	for _, g := range who {
		clear(grad)
		value += part * q(g, grad)
		own := make([]float64, locals)
		for i := range own {
			own[i] = part * grad[i]
		}
		gr.local[g] = own
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

// interval finishes an estimate: the fit's variance, and the parts that are
// common to the session and enter once, as standard uncertainties.
func (m *Model) interval(value, variance float64, once ...float64) Estimate {
	for _, u := range once {
		variance += u * u
	}
	half := lsq.T(Level, max(m.sol.DoF, 1)) * math.Sqrt(variance)
	return Estimate{Value: value, Lo: value - half, Hi: value + half, Level: Level}
}

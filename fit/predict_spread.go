package fit

import "math"

// robustLoss is by what factor the loss that bears gross errors widens the spread
// of estimates: an efficiency of 95 % (Holland and Welsch, Communications in
// Statistics A6, 1977, from memory).
var robustLoss = 1 / math.Sqrt(0.95)

// predict completes an estimate with what the sources of error make of it. The
// gradient is in working units; unit is one of them in the estimate's unit.
func (p *Prospect) predict(e Estimate, gr gradient, unit float64) Prediction {
	out := Prediction{Value: e.Value, CI95: e.CI95(), Status: e.Status}
	if !e.Status.HasValue() {
		return out
	}
	effects := p.effect.of(gr)
	out.Random = unit * robustLoss * math.Sqrt(p.random(effects))
	out.Gauges = unit * math.Sqrt(p.common(effects))
	return out
}

// random is the variance that another session with the same gauges would show.
// What a run has in common moves all its readings together.
func (p *Prospect) random(effects [][]float64) (variance float64) {
	runs := make([][3]float64, len(p.sources))
	for _, x := range p.sources {
		effect := effects[x.g][x.i] / x.sd
		variance += square(effect * x.own)
		run := &runs[x.run]
		run[0] += effect * x.drift
		run[1] += effect * x.supply
		run[2] += effect * x.count
	}
	for _, run := range runs {
		variance += square(run[0]) + square(run[1]) + square(run[2])
	}
	return variance
}

// common is the variance by what stays the same for the whole session.
func (p *Prospect) common(effects [][]float64) float64 {
	var gauge, meter, timer float64
	vessels := make([]float64, len(p.sources))
	for _, x := range p.sources {
		effect := effects[x.g][x.i] / x.sd
		gauge += effect * x.gauge
		meter += effect * x.meter
		timer += effect * x.timer
		vessels[x.vessel] += effect * x.q
	}
	g := p.Model.gauges
	variance := square(gauge*g.pressure) + square(meter*g.voltage) + square(timer*g.timer)
	for _, v := range vessels {
		variance += square(v * g.volume)
	}
	return variance
}

func square(x float64) float64 { return x * x }

package tables

import (
	"sync"

	"injtab/fit"
	"injtab/fit/unit"
)

// means are what the mean injector has at each place, worked out once: every injector's
// trims ask for it at the same few places, which of 5,000 would take many minutes. Tables
// that are laid out side by side share them.
type means struct{ dead, flow sync.Map }

// meanDead is the dead time in ms of the mean injector; NaN where one does not
// open.
func (b *builder) meanDead(p, v float64) float64 {
	return once(&b.means.dead, [2]float64{p, v}, b.who, func(g int) float64 { return b.m.DeadTimeOf(g, unit.KPa(p), unit.Volts(v)) })
}

// typicalDead is the mean dead time in ms of few injectors.
func (b *builder) typicalDead(p, v float64) float64 {
	if len(b.who) == len(few(b.who)) {
		return b.meanDead(p, v)
	}
	return mean(few(b.who), func(g int) float64 { return b.m.DeadTimeOf(g, unit.KPa(p), unit.Volts(v)) })
}

// meanFlow is the static flow of the mean injector in ml/min of the tables' fuel.
func (b *builder) meanFlow(p float64) float64 {
	return once(&b.means.flow, [2]float64{p}, b.who, func(g int) float64 { return b.m.FlowOf(g, unit.KPa(p)) }) * b.factor
}

// once is the mean over injectors at a place.
func once(known *sync.Map, place [2]float64, who fit.Who, of func(g int) float64) float64 {
	if x, ok := known.Load(place); ok {
		return x.(float64)
	}
	x := mean(who, of)
	known.Store(place, x)
	return x
}

func mean(who fit.Who, of func(g int) float64) float64 {
	sum := 0.0
	for _, g := range who {
		sum += of(g)
	}
	return sum / float64(len(who))
}

// few are an even choice of many injectors, by which breakpoints are placed: the curves of
// all are alike, and those of thousands would take seconds.
func few(who fit.Who) fit.Who {
	const enough = 100
	if len(who) <= enough {
		return who
	}
	out := make(fit.Who, enough)
	for k := range out {
		out[k] = who[k*len(who)/enough]
	}
	return out
}

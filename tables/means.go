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
	return once(&b.means.dead, [2]float64{p, v}, func() float64 { return b.m.MeanDeadTime(b.who, unit.KPa(p), unit.Volts(v)) })
}

// typicalDead is the mean dead time in ms of few injectors.
func (b *builder) typicalDead(p, v float64) float64 {
	if len(b.who) == len(few(b.who)) {
		return b.meanDead(p, v)
	}
	return b.m.MeanDeadTime(few(b.who), unit.KPa(p), unit.Volts(v))
}

// meanFlow is the static flow of the mean injector in ml/min of the tables' fuel.
func (b *builder) meanFlow(p float64) float64 {
	return once(&b.means.flow, [2]float64{p}, func() float64 { return b.m.MeanFlow(b.who, unit.KPa(p)) }) * b.factor
}

// once is what a place has, worked out where it is not known yet.
func once(known *sync.Map, place [2]float64, mean func() float64) float64 {
	if x, ok := known.Load(place); ok {
		return x.(float64)
	}
	x := mean()
	known.Store(place, x)
	return x
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

package engine

import (
	"math"

	"injtab/fit/diag"
	"injtab/fit/unit"
)

// Ends of the search for the highest boost and speed.
const (
	topBoost = 450e3 // Pa
	topRPM   = 25000
)

// ceilings finds the highest boost, speed and power at the duty limit.
func (r *HeadroomResult) ceilings(l load, now *filled) {
	r.MaxBoost = l.maxBoost(now)
	r.MaxRPM = l.maxRPM(now)
	if fuel, err := l.fuelAtLimit(now); err == nil && fuel > 0 {
		kw := PowerFromFuel(fuel, now.BSFC).KW()
		r.MaxPower = &kw
	}
	if r.MaxBoost == nil {
		r.notes = append(r.notes, diag.Warn("no_boost_left", "Even without boost the injectors are beyond the duty limit at %.0f rpm.", now.RPM))
		return
	}
	if *r.MaxBoost >= topBoost/1e3*(1-1e-9) {
		r.notes = append(r.notes, diag.Warn("boost_not_limited", "The duty limit is not reached below a boost of %.4g kPa, where the search ends.", *r.MaxBoost))
	}
	if r.MaxRPM != nil && *r.MaxRPM >= topRPM*(1-1e-9) {
		r.notes = append(r.notes, diag.Warn("rpm_not_limited", "The duty limit is not reached below %.0f rpm, where the search ends.", *r.MaxRPM))
	}
	if g, err := now.at(now.RPM, unit.KPa(*r.MaxBoost)); err == nil {
		kw := PowerFromFuel(g.fuel().mid, g.BSFC).KW()
		r.PowerAtMaxBoost = &kw
	}
}

// maxBoost is the highest boost, in kPa, at the speed of now; nil where even none
// is too much.
func (l load) maxBoost(now *filled) *float64 {
	return highest(0, topBoost, func(boost float64) float64 { return l.dutyAt(now, now.RPM, unit.Pressure(boost)) - float64(now.Duty) }, 1e3)
}

// maxRPM is the highest speed at the boost of now, each cycle needing the same fuel.
func (l load) maxRPM(now *filled) *float64 {
	return highest(100, topRPM, func(rpm float64) float64 { return l.dutyAt(now, rpm, now.Boost) - float64(now.Duty) }, 1)
}

// dutyAt is the duty of the leanest injector; infinite where nothing drives fuel
// or an injector does not open.
func (l load) dutyAt(now *filled, rpm float64, boost unit.Pressure) float64 {
	g, err := now.at(rpm, boost)
	if err != nil {
		return math.Inf(1)
	}
	o, err := l.find(&g)
	if err != nil {
		return math.Inf(1)
	}
	return float64(o.duty())
}

// highest is the largest x within lo to hi at which rising over is not above zero,
// divided by scale; nil where there is none. Halving: duty rises with speed and
// with boost, but steps where defaults change from aspirated to boosted.
func highest(lo, hi float64, over func(float64) float64, scale float64) *float64 {
	if over(lo) > 0 {
		return nil
	}
	if over(hi) <= 0 {
		x := hi / scale
		return &x
	}
	for range 60 {
		if mid := (lo + hi) / 2; over(mid) > 0 {
			hi = mid
		} else {
			lo = mid
		}
	}
	x := lo / scale
	return &x
}

// grid is duty over speed and boost, with the present and the target among them.
func (r *HeadroomResult) grid(l load, now, aim *filled) {
	for _, rpm := range now.speedAxis(now.RPM, aim.RPM) {
		for _, boost := range now.boostAxis(now.Boost, aim.Boost) {
			cell := DutyCell{RPM: rpm, Boost: boost.KPa()}
			if duty := l.dutyAt(now, rpm, boost); !math.IsInf(duty, 0) {
				pct := 100 * duty
				cell.Duty = &pct
			}
			r.Grid = append(r.Grid, cell)
		}
	}
}

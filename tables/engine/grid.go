package engine

import (
	"math"
	"slices"

	"injtab/fit/unit"
)

// A SizeCell is the injector needed at a consumption (or volumetric efficiency,
// where the answer rests on the air) and a duty limit.
type SizeCell struct {
	BSFC float64 `json:"bsfc_g_kwh,omitempty"`
	VE   float64 `json:"ve_pct,omitempty"`
	Duty float64 `json:"duty_pct"`
	// Flow is null where dead time uses up the pulse.
	Flow *float64 `json:"injector_flow_ml_min"`
}

// A BoostCell is the injector needed at a speed and boost.
type BoostCell struct {
	RPM   float64 `json:"rpm"`
	Boost float64 `json:"boost_kpa"`
	// Flow is null where nothing drives fuel, or dead time uses up the pulse.
	Flow *float64 `json:"injector_flow_ml_min"`
}

// grids fills the two tables of sizes.
func (r *SizeResult) grids(f *filled) {
	duties := distinct([]float64{75, 80, 85, 90, f.Duty.Pct()})
	for _, x := range f.sizeAxis() {
		for _, duty := range duties {
			cell := SizeCell{Duty: duty}
			g := *f
			g.Duty = unit.Ratio(duty / 100)
			fuel := x
			if given(f.crank) {
				cell.BSFC = x
				fuel = float64(FuelFromPower(f.crank, unit.Consumptions.In(x, "g/kWh")))
			} else {
				cell.VE = x
				fuel = float64(FuelFromAir(f.air(unit.Ratio(x/100)), f.Lambda, f.Fuel.Stoich))
			}
			cell.Flow = orNull(g.labelled(f.sets[0], unit.MassFlow(fuel)))
			r.ByDuty = append(r.ByDuty, cell)
		}
	}
	if given(f.RPM) {
		r.boostGrid(f)
	}
}

// sizeAxis is the range of what the answer rests on: consumption in g/kWh, or
// volumetric efficiency in per cent.
func (f *filled) sizeAxis() []float64 {
	if given(f.crank) {
		return distinct(append(round(gkWh(f.BSFCLow), gkWh(f.BSFCHigh), 5), gkWh(f.BSFC)))
	}
	return distinct(append(round(f.VELow.Pct(), f.VEHigh.Pct(), 5), f.VE.Pct()))
}

func (r *SizeResult) boostGrid(f *filled) {
	for _, rpm := range f.speedAxis(f.RPM) {
		for _, boost := range f.boostAxis(f.Boost) {
			cell := BoostCell{RPM: rpm, Boost: boost.KPa()}
			if g, err := f.at(rpm, boost); err == nil {
				cell.Flow = orNull(g.labelled(g.sets[0], g.fuel().mid))
			}
			r.ByBoost = append(r.ByBoost, cell)
		}
	}
}

// speedAxis is round speeds from 40 % of the given one to a tenth above the
// highest, with those given among them.
func (f *filled) speedAxis(rpm ...float64) []float64 {
	return distinct(append(round(0.4*f.RPM, 1.1*slices.Max(rpm), 7), rpm...))
}

// boostAxis is round boosts from none to a third above the highest given, or to
// 100 kPa, with those given among them.
func (f *filled) boostAxis(boosts ...unit.Pressure) []unit.Pressure {
	top := max(100, 1.34*slices.Max(boosts).KPa())
	axis := append(round(0, min(top, 450), 6), 0)
	for _, b := range boosts {
		axis = append(axis, b.KPa())
	}
	out := make([]unit.Pressure, 0, len(axis))
	for _, kpa := range distinct(axis) {
		out = append(out, unit.KPa(kpa))
	}
	return out
}

// round lists the multiples of 1, 2, 2.5 or 5 times a power of ten within lo to hi,
// about n of them.
func round(lo, hi float64, n int) []float64 {
	step := (hi - lo) / float64(n)
	if !(step > 0) {
		return nil
	}
	power := math.Pow(10, math.Floor(math.Log10(step)))
	for _, m := range []float64{1, 2, 2.5, 5, 10} {
		if m*power >= step*(1-1e-9) {
			step = m * power
			break
		}
	}
	var axis []float64
	for k := math.Ceil(lo/step - 1e-9); k*step <= hi*(1+1e-9); k++ {
		axis = append(axis, k*step+0) // no minus zero
	}
	return axis
}

// distinct sorts and leaves out what differs from its neighbour by rounding only.
func distinct(axis []float64) []float64 {
	slices.Sort(axis)
	return slices.CompactFunc(axis, func(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Max(1, math.Abs(b)) })
}

func orNull(x float64, err error) *float64 {
	if err != nil {
		return nil
	}
	return &x
}

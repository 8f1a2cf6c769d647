package plan

import (
	"math"

	"injtab/fit/unit"
)

// A glass is a line of ASTM E1272-02(2012), Table 1: glass measuring cylinders.
type glass struct{ capacity, division, classB float64 } // ml

var glasses = []glass{{25, 0.5, 0.34}, {50, 1, 0.50}, {100, 1, 1.00}, {250, 2, 2.00}, {500, 5, 4.00}}

// withUsual fills in what a cylinder of this capacity usually has: the division of
// the table, and the limit of error of its class B. A vessel that is none of the
// table has as limit one division, which is a hundredth of the capacity.
func (v Vessel) withUsual() Vessel {
	if v.TopMark <= 0 {
		v.TopMark = v.Capacity
	}
	usual := glass{division: v.Capacity.Ml() / 100, classB: v.Capacity.Ml() / 100}
	for _, g := range glasses {
		if math.Abs(g.capacity-v.Capacity.Ml()) < 0.5 {
			usual = g
		}
	}
	if v.Division <= 0 {
		v.Division = unit.Ml(usual.division)
	}
	if v.Tolerance <= 0 {
		v.Tolerance = unit.Ml(usual.classB)
	}
	return v
}

// U is the standard uncertainty of one reading of the vessel by its glass alone:
// calibration a/√3 (JCGM 100:2008, 4.3.7, clause from memory) and division d/√12
// (JCGM 100:2008, F.2.2.1, as quoted in a package that cites the clause). An empty
// vessel is not read, and the calibration counts once, however much is in it.
func (v Vessel) U() unit.Volume {
	return unit.Volume(math.Hypot(float64(v.Tolerance)/math.Sqrt(3), float64(v.Division)/math.Sqrt(12)))
}

// Needed is the volume at which u, with a relative part that more volume does not
// lessen, is the target share of it. Where that part alone comes near the target or
// is above it, filling on would waste time: u is then to be half of that part.
func Needed(u unit.Volume, target, relative float64) unit.Volume {
	room := math.Max(target*target-relative*relative, relative*relative/4)
	return unit.Volume(float64(u) / math.Sqrt(room))
}

// vessel turns the beaker on a scale into a vessel, by the fluid's density.
func (s Scale) vessel(density unit.Density) Vessel {
	if s.Tolerance <= 0 {
		s.Tolerance = s.Step
	}
	full := s.Capacity.Of(density)
	return Vessel{Capacity: full, TopMark: full, Division: s.Step.Of(density), Tolerance: s.Tolerance.Of(density)}
}

package plan

import (
	"math"
	"testing"

	"injtab/fit/unit"
)

// Limits of error by ASTM E1272-02(2012), Table 1; class A has half of class B. A
// limit a gives a/√3 (JCGM 100:2008, 4.3.7, clause from memory), a division d gives
// d/√12 (JCGM 100:2008, F.2.2.1, as quoted in a package that cites the clause). The
// combined figures are computed from these.
func TestVesselUncertainty(t *testing.T) {
	for _, c := range []struct {
		name                      string
		capacity, limit, division float64
		tolerance, step, both     float64 // ml
	}{
		{"500 ml class A", 500, 2.00, 5, 1.1547005, 1.4433757, 1.8484228},
		{"250 ml class A", 250, 1.00, 2, 0.5773503, 0.5773503, 0.8164966},
		{"100 ml class A", 100, 0.50, 1, 0.2886751, 0.2886751, 0.4082483},
		{"500 ml class B", 500, 4.00, 5, 2.3094011, 1.4433757, 2.7233558},
		{"250 ml class B", 250, 2.00, 2, 1.1547005, 0.5773503, 1.2909944},
		{"100 ml class B", 100, 1.00, 1, 0.5773503, 0.2886751, 0.6454972},
	} {
		v := Vessel{Capacity: unit.Ml(c.capacity), Division: unit.Ml(c.division), Tolerance: unit.Ml(c.limit)}
		near(t, c.name, v.U().Ml(), c.both, 1e-6)
		v.Division = 0
		near(t, c.name+", calibration", v.U().Ml(), c.tolerance, 1e-6)
		v.Division, v.Tolerance = unit.Ml(c.division), 0
		near(t, c.name+", division", v.U().Ml(), c.step, 1e-6)
	}
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// 450 ml in a 500 ml cylinder of class A by one reading: 0.41076 %, and of 6000
// shots 0.0750 ± 0.000308 ml; 80 ml in a 100 ml one: 0.5103 % (same sources).
func TestUncertaintyOfAFilling(t *testing.T) {
	big := Vessel{Capacity: unit.Ml(500), Division: unit.Ml(5), Tolerance: unit.Ml(2)}
	near(t, "450 ml, %", 100*big.U().Ml()/450, 0.41076, 1e-5)
	near(t, "per shot, ml", big.U().Ml()/6000, 0.000308, 1e-6)
	small := Vessel{Capacity: unit.Ml(100), Division: unit.Ml(1), Tolerance: unit.Ml(0.5)}
	near(t, "80 ml, %", 100*small.U().Ml()/80, 0.5103, 1e-4)
}

// The volume needed is the one at which the target is just reached: 450 ml for
// 0.41076 %, 80 ml for 0.5103 %.
func TestNeededVolume(t *testing.T) {
	big := Vessel{Capacity: unit.Ml(500), Division: unit.Ml(5), Tolerance: unit.Ml(2)}
	near(t, "ml for 0.41076 %", Needed(big.U(), 0.0041076, 0).Ml(), 450, 0.01)
	small := Vessel{Capacity: unit.Ml(100), Division: unit.Ml(1), Tolerance: unit.Ml(0.5)}
	near(t, "ml for 0.5103 %", Needed(small.U(), 0.005103, 0).Ml(), 80, 0.01)
	// 3-4-5: 0.3 % that volume does not lessen leaves 0.4 % of 0.5 %.
	near(t, "ml beside a relative part", Needed(unit.Ml(0.4), 0.005, 0.003).Ml(), 100, 1e-9)
	// Where that part is the target already, u is to be half of it.
	near(t, "ml beside too much", Needed(unit.Ml(0.4), 0.002, 0.004).Ml(), 200, 1e-9)
}

func TestUsualVessels(t *testing.T) {
	v := Vessel{Capacity: unit.Ml(250)}.withUsual()
	near(t, "division", v.Division.Ml(), 2, 1e-9)
	near(t, "class B", v.Tolerance.Ml(), 2, 1e-9)
	near(t, "top mark", v.TopMark.Ml(), 250, 1e-9)
	odd := Vessel{Capacity: unit.Ml(180), TopMark: unit.Ml(170)}.withUsual()
	near(t, "division of an odd one", odd.Division.Ml(), 1.8, 1e-9)
	near(t, "top mark of an odd one", odd.TopMark.Ml(), 170, 1e-9)
}

// A scale of 0.1 g with n-heptane: a step of 0.1 g is a division of 0.1/density ml.
func TestScaleIsAVessel(t *testing.T) {
	s := Scale{Capacity: unit.Grams(200), Step: unit.Grams(0.1)}.vessel(680)
	near(t, "division", s.Division.Ml(), 0.1/0.680, 1e-9)
	near(t, "capacity", s.Capacity.Ml(), 200/0.680, 1e-9)
	near(t, "tolerance", s.Tolerance.Ml(), 0.1/0.680, 1e-9)
}

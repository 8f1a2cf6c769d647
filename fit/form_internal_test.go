package fit

import (
	"math"
	"math/rand/v2"
	"testing"

	"injtab/fit/internal/lsq"
)

// invented are conditions over the whole range, with a held-open one.
func invented() dataset {
	d := dataset{}
	for range 2 {
		var group []datum
		for _, v := range []float64{10, 11.5, 13, 15} {
			for _, p := range []float64{200, 300, 450} {
				for _, t := range []float64{1.6, 2, 3, 6, 12} {
					group = append(group, datum{c: condition{pulse: t, period: 20, place: place{p, v}}, q: 5, sd: 0.02})
				}
			}
		}
		group = append(group, datum{c: condition{pulse: 20, period: 20, place: place{300, 13}, static: true}, q: 100, sd: 0.3})
		d.groups = append(d.groups, group)
	}
	return d
}

// deadCurves are all forms of the dead time.
func deadCurves() []deadCurve {
	volts := []float64{10, 11.5, 13, 15}
	return []deadCurve{
		coil{ref: 300}, coil{ref: 300, nodes: nodes{volts}}, coil{ref: 300, whole: true},
		coil{ref: 300, nodes: nodes{volts}, whole: true},
		curve{ref: 300, nodes: nodes{volts}, pressure: true}, curve{ref: 300, nodes: nodes{volts[:1]}},
	}
}

// TestDeadPlace: what all injectors share at a place gives each of them its own dead time,
// to where the search passes conditions at which it would not open.
func TestDeadPlace(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	for _, dead := range deadCurves() {
		f := newFamily(300, 13.5, true, dead, returning{refD: 0.7})
		th := f.deadAt(startNear(f, rng).Shared)
		other := dead.bind(th, 0.3)
		for _, pull := range []float64{-0.1, 0, 0.2} {
			for _, v := range []float64{6, 9, 11, 12.2, 15, 17} {
				p := 150 + 500*rng.Float64()
				own := dead.bind(th, pull)
				want, _ := dead.eval(th, own, dead.locate(place{p, v}), make([]float64, len(th)))
				got := dead.at(th, other, p, v).of(own.own)
				if math.Abs(got/want-1) > 1e-12 {
					t.Errorf("%T at %.0f kPa and %g V: %v ms, want %v", dead, p, v, got, want)
				}
			}
		}
	}
}

// TestJacobian compares every form's analytic derivatives with finite differences.
func TestJacobian(t *testing.T) {
	d := invented()
	rng := rand.New(rand.NewPCG(3, 1))
	for _, dead := range deadCurves() {
		for _, b := range []returning{{}, {voltage: true}, {lift: true}, {voltage: true, lift: true}} {
			b.refD = 0.7
			f := newFamily(300, 13.5, true, dead, b)
			sd := f.deviations(d, startNear(f, rng), firstNoise)
			p := f.problem(d, sd)
			if worst := lsq.CheckJacobian(p, startNear(f, rng)); worst > 1e-4 {
				t.Errorf("%T %+v: the Jacobian differs from finite differences by %.2g", dead, b, worst)
			}
		}
	}
}

// startNear is a plausible point that is nowhere special.
func startNear(f family, rng *rand.Rand) lsq.Start {
	gs := guess{n: 0.51, flow: []float64{2, 2.1}, pull: []float64{0.02, -0.03},
		points: []deadPoint{{300, 10, 1.3}, {300, 11.5, 1}, {300, 13, 0.75}, {300, 15, 0.55}}}
	s := f.startFrom(gs, 2)
	for i := range s.Shared {
		s.Shared[i] += 0.01 * rng.Float64()
	}
	for g := range s.Local {
		s.Local[g][localTime] = 0.003 * rng.Float64()
	}
	return s
}

// TestOpenInverts: the open time found for an effective pulse gives it back, on the
// rising branch only.
func TestOpenInverts(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 1))
	for range 500 {
		b := returning{refD: 0.7, voltage: rng.IntN(2) == 0, lift: rng.IntN(2) == 0}
		f := newFamily(300, 13.5, true, curve{ref: 300, nodes: nodes{[]float64{13.5}}}, b)
		theta := make([]float64, f.shared())
		// Both signs of the bend: one delivers less, the other more.
		theta[2], theta[3] = rng.Float64()-0.5, math.Log(0.2+rng.Float64())
		if b.lift {
			copy(f.bendAt(theta)[b.liftAt():], []float64{0.7 * rng.Float64(), 0.7, 0.3})
		}
		u, d, v := 0.3+5*rng.Float64(), 0.5+rng.Float64(), 10+5*rng.Float64()
		w := f.bent(theta, v).open(u, d)
		c, dw, _ := b.eval(f.bendAt(theta), b.fade(f.bendAt(theta)), w, d, f.driven(v), make([]float64, f.nBend))
		if back := w + c; math.Abs(back-u) > 1e-6 || dw < -1 {
			t.Fatalf("effective %.4f ms, open time %.4f ms gives %.4f ms back (slope %.3f)", u, w, back, 1+dw)
		}
		if longer := f.bent(theta, v).open(u+0.001, d); longer < w || longer > w+0.1 {
			t.Fatalf("effective %.4f ms has an open time of %.4f ms, %.4f ms one of %.4f ms", u, w, u+0.001, longer)
		}
	}
}

// TestCoverageFactor: the factor for a mix of a limited and a normal error, against
// 40,000 draws.
func TestCoverageFactor(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	for _, part := range []float64{0, 0.3, 0.6, 0.9, 1} {
		k, in, n := coverage(part*part), 0, 40000
		for range n {
			x := math.Sqrt(1-part)*rng.NormFloat64() + math.Sqrt(3*part)*(2*rng.Float64()-1)
			if math.Abs(x) <= k {
				in++
			}
		}
		if pct := 100 * float64(in) / float64(n); math.Abs(pct-95) > 0.6 {
			t.Errorf("a limited part of %.1f of the variance: factor %.3f covers %.1f %%", part, k, pct)
		}
	}
}

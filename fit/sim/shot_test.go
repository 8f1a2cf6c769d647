package sim

import (
	"math"
	"math/rand/v2"
	"testing"

	"injtab/fit/unit"
)

// typical are pressures in kPa and voltages that every design opens at.
var (
	typicalPressures = []float64{200, 300, 450}
	typicalVoltages  = []float64{10, 11.5, 13.5, 15}
)

// each asks every design at every typical condition.
func each(t *testing.T, ask func(t *testing.T, tr *Truth, p unit.Pressure, v unit.Voltage)) {
	for _, d := range Designs() {
		t.Run(d.Name, func(t *testing.T) {
			tr := d.Nominal().Truth()
			for _, p := range typicalPressures {
				for _, v := range typicalVoltages {
					ask(t, tr, unit.KPa(p), unit.Volts(v))
				}
			}
		})
	}
}

func TestVolumeRisesWithPulse(t *testing.T) {
	each(t, func(t *testing.T, tr *Truth, p unit.Pressure, v unit.Voltage) {
		var last unit.Volume
		for pulse := 0.2; pulse < 12; pulse += 0.01 {
			q := tr.PerShot(unit.Ms(pulse), unit.Ms(20), p, v, 0)
			if q < last {
				t.Fatalf("%.0f kPa %.1f V %.2f ms: %.6f ml after %.6f ml", p.KPa(), v.V(), pulse, q.Ml(), last.Ml())
			}
			last = q
		}
	})
}

// Long pulses differ by the static flow times their difference: once the flux is
// steady, nothing of the closing depends on the pulse.
func TestLongPulsesAreLinear(t *testing.T) {
	each(t, func(t *testing.T, tr *Truth, p unit.Pressure, v unit.Voltage) {
		a := tr.PerShot(unit.Ms(20), unit.Ms(60), p, v, 0)
		b := tr.PerShot(unit.Ms(30), unit.Ms(60), p, v, 0)
		want := 10e-3 * float64(tr.Unit().StaticFlow(p))
		near(t, "volume of 10 ms more", float64(b-a), want, 1e-4*want)
	})
}

func TestDeadTimeFallsWithVoltageAndRisesWithPressure(t *testing.T) {
	each(t, func(t *testing.T, tr *Truth, p unit.Pressure, v unit.Voltage) {
		d := tr.DeadTime(p, v)
		if higher := tr.DeadTime(p, v+0.1); higher >= d {
			t.Errorf("%.0f kPa: %.4f ms at %.1f V, %.4f ms at 0.1 V more", p.KPa(), d.Ms(), v.V(), higher.Ms())
		}
		if higher := tr.DeadTime(p+unit.KPa(10), v); higher <= d {
			t.Errorf("%.1f V: %.4f ms at %.0f kPa, %.4f ms at 10 kPa more", v.V(), d.Ms(), p.KPa(), higher.Ms())
		}
	})
}

// The designs are meant to be of usual size (values of our own).
func TestDesignsAreOfUsualSize(t *testing.T) {
	p := unit.KPa(300)
	for _, d := range Designs() {
		u := d.Nominal()
		tr := u.Truth()
		within(t, d.Name+" static flow in ml/min", u.StaticFlow(p).MlMin(), 290, 960)
		within(t, d.Name+" dead time at 13.5 V in ms", tr.DeadTime(p, 13.5).Ms(), 0.6, 0.9)
		if d.Name < "D" {
			within(t, d.Name+" dead time at 8 V in ms", tr.DeadTime(p, 8).Ms(), 1.9, 2.5)
		}
	}
	within(t, "D opens at 500 kPa from V", ByName("D").Nominal().OpensAt(unit.KPa(500)).V(), 7.8, 8)
}

func TestOpensAtDividesOpeningFromNot(t *testing.T) {
	for _, d := range Designs() {
		u := d.Nominal()
		for _, p := range typicalPressures {
			v := u.OpensAt(unit.KPa(p))
			below := u.PerShot(unit.Ms(150), unit.Ms(400), unit.KPa(p), v-0.005, 0)
			above := u.PerShot(unit.Ms(150), unit.Ms(400), unit.KPa(p), v+0.005, 0)
			if below > 0 || above <= 0 {
				t.Errorf("%s %.0f kPa: %.4f ml below %.3f V, %.4f ml above", d.Name, p, below.Ml(), v.V(), above.Ml())
			}
		}
	}
}

// Orifice law: flow goes with the square root of the pressure, within the few per
// cent that the liquid's viscosity adds (facts of the square root: any textbook of
// hydraulics; 300 to 200 kPa gives 81.650 %).
func TestStaticFlowGoesNearlyWithTheRootOfPressure(t *testing.T) {
	for _, d := range Designs() {
		u := d.Nominal()
		ratio := float64(u.StaticFlow(unit.KPa(200)) / u.StaticFlow(unit.KPa(300)))
		near(t, d.Name+" flow at 200 over 300 kPa", ratio, 0.81650, 0.01)
		n := math.Log(ratio) / math.Log(200.0/300)
		within(t, d.Name+" exponent", n, 0.5005, 0.52)
	}
}

// Twenty kelvin more: the coil, copper, has 7.9 % more resistance and opens the
// injector later; the liquid is thinner and lighter and flows faster by about half
// of its expansion.
func TestTemperature(t *testing.T) {
	tr := ByName("A").Nominal().Truth()
	ask := func(pulse float64, temp unit.Temperature) float64 {
		return float64(tr.PerShot(unit.Ms(pulse), unit.Ms(20), unit.KPa(300), 13.5, temp))
	}
	within(t, "held open, warm over cold", ask(20, RoomTemp+20)/ask(20, RoomTemp), 1.011, 1.020)
	if warm, cold := ask(2, RoomTemp+20), ask(2, RoomTemp); warm >= cold {
		t.Errorf("2 ms deliver %.4g warm and %.4g cold: the slower coil should tell", warm, cold)
	}
	near(t, "no temperature given", ask(2, 0), ask(2, RoomTemp), 1e-18)
}

func TestFullFlowWhenHeldOpen(t *testing.T) {
	u := ByName("A").Nominal()
	p := unit.KPa(300)
	want := float64(u.StaticFlow(p)) * 0.02
	near(t, "held open", float64(u.PerShot(unit.Ms(20), unit.Ms(20), p, 13.5, 0)), want, 1e-9*want)
	near(t, "off for 0.1 ms", float64(u.PerShot(unit.Ms(19.9), unit.Ms(20), p, 13.5, 0)), want, 1e-4*want)
	if q := u.PerShot(unit.Ms(20), unit.Ms(20), p, 5, 0); q != 0 {
		t.Errorf("held on at 5 V: %v ml, want 0", q.Ml())
	}
}

// Voltage moves how soon a short pulse of E closes, not of A: 1.2 ms after the dead
// time E has delivered some per cent more at 12.6 V than at 14.5 V.
func TestVoltageBendsShortPulsesOfOneDesign(t *testing.T) {
	ratio := func(name string) float64 {
		tr := ByName(name).Nominal().Truth()
		at := func(v unit.Voltage) unit.Volume {
			return tr.PerShot(tr.DeadTime(300e3, v)+unit.Ms(1.2), unit.Ms(20), 300e3, v, 0)
		}
		return float64(at(12.6)/at(14.5)) - 1
	}
	within(t, "A", ratio("A"), -0.005, 0.005)
	within(t, "E", ratio("E"), 0.02, 0.08)
}

// With less time off than the needle needs to close and the flux to die, each
// shot begins where the last one ended: it delivers more than a shot from rest.
func TestShortPausesCarryOver(t *testing.T) {
	u := ByName("A").Nominal()
	p := unit.KPa(300)
	last := float64(u.PerShot(unit.Ms(8), unit.Ms(20), p, 13.5, 0))
	for _, off := range []float64{1.2, 0.9, 0.7, 0.5, 0.3} {
		q := float64(u.PerShot(unit.Ms(8), unit.Ms(8+off), p, 13.5, 0))
		if q < last-1e-15 {
			t.Errorf("%.1f ms off: %.6f ml, less than %.6f ml with a longer pause", off, q*1e6, last*1e6)
		}
		last = q
	}
}

func TestFaults(t *testing.T) {
	u := ByName("A").Nominal()
	p, period := unit.KPa(300), unit.Ms(20)
	sound := u.PerShot(unit.Ms(3), period, p, 13.5, 0)
	ask := func(f Fault, pulse unit.Time) unit.Volume {
		u.Fault = f
		return u.PerShot(pulse, period, p, 13.5, 0)
	}
	if q := ask(Fault{Dead: true}, unit.Ms(3)); q != 0 {
		t.Errorf("dead: %v ml", q.Ml())
	}
	leak := ask(Fault{Leak: 1e-9}, 0)
	near(t, "leak", float64(ask(Fault{Leak: 1e-9}, unit.Ms(3))), float64(sound+leak), 1e-15)
	if q := ask(Fault{Stick: 1}, unit.Ms(3)); q >= sound {
		t.Errorf("sticking: %v ml, sound %v ml", q.Ml(), sound.Ml())
	}
}

func TestUnitsScatterAsTheFamilyDoes(t *testing.T) {
	d := ByName("B")
	rng := rand.New(rand.NewPCG(1, 2))
	const n = 400
	var flow, flow2, open, open2 float64
	for range n {
		u := d.Unit(rng)
		f, v := u.StaticFlow(unit.KPa(300)).MlMin(), u.OpensAt(unit.KPa(300)).V()
		flow, flow2, open, open2 = flow+f, flow2+f*f, open+v, open2+v*v
	}
	sd := func(sum, squares float64) float64 { return math.Sqrt(squares/n-sum*sum/n/n) / (sum / n) }
	within(t, "flow's relative standard deviation", sd(flow, flow2), 0.024, 0.036)
	within(t, "opening voltage's relative standard deviation", sd(open, open2), 0.03, 0.06)
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.9g, want %.9g ± %.2g", what, got, want, tolerance)
	}
}

func within(t *testing.T, what string, got, lo, hi float64) {
	t.Helper()
	if !(lo <= got && got <= hi) {
		t.Errorf("%s: %.6g, want %g to %g", what, got, lo, hi)
	}
}

// BenchmarkCondition is all pulses of a session at one new condition.
func BenchmarkCondition(b *testing.B) {
	u := ByName("A").Nominal()
	for b.Loop() {
		t := u.Truth()
		for _, pulse := range []float64{1.2, 1.5, 2, 2.5, 3, 4, 6, 8, 12} {
			t.PerShot(unit.Ms(pulse), unit.Ms(20), unit.KPa(300), 13.5, 0)
		}
	}
}

// BenchmarkFurtherPulse is one more pulse at a known condition.
func BenchmarkFurtherPulse(b *testing.B) {
	t := ByName("A").Nominal().Truth()
	for b.Loop() {
		t.PerShot(unit.Ms(2.345), unit.Ms(20), unit.KPa(300), 13.5, 0)
	}
}

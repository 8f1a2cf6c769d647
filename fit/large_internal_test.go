package fit

import (
	"math"
	"strconv"
	"testing"

	"injtab/fit/bench"
	"injtab/fit/unit"
)

// TestJoinedRepeats: a gross reading among repeats does not carry their mean.
func TestJoinedRepeats(t *testing.T) {
	c := condition{pulse: 5, period: 20, place: place{300, 13.5}}
	cell := []datum{{c: c, q: 10.01, sd: 0.02}, {c: c, q: 9.99, sd: 0.02}, {c: c, q: 10.02, sd: 0.02}, {c: c, q: 19, sd: 0.02}}
	got := joined(cell, bench.Rest{})
	if math.Abs(got.q-10.0067) > 1e-3 || math.Abs(got.sd-0.02/math.Sqrt(3)) > 1e-9 {
		t.Errorf("joined to %.4f ± %.4f, want 10.0067 ± 0.0115", got.q, got.sd)
	}
}

// TestJoinedWithTheRest: what is not held of repeats counts as if it were.
func TestJoinedWithTheRest(t *testing.T) {
	cell := make([]datum, 5)
	for k := range cell {
		cell[k] = datum{c: condition{pulse: 5, period: 20, place: place{300 + float64(k), 13.5 + 0.01*float64(k)}}, q: 10 + 0.01*float64(k*k), sd: 0.02 + 0.01*float64(k)}
	}
	rest := bench.Rest{
		N: 3, PerShot: unit.Ml((cell[2].q + cell[3].q + cell[4].q) / 3 / microlitres), Read: unit.Ml(math.Sqrt(square(cell[2].sd)+square(cell[3].sd)+square(cell[4].sd)) / 3 / microlitres),
		Pressure: unit.KPa(303), Voltage: unit.Volts(13.53),
	}
	want := joined(cell, bench.Rest{})
	got := joined(cell[:2], rest)
	if math.Abs(got.q-want.q) > 1e-12 || math.Abs(got.sd-want.sd) > 1e-12 || math.Abs(got.c.p-want.c.p) > 1e-9 || math.Abs(got.c.v-want.c.v) > 1e-9 {
		t.Errorf("two and a rest of three: %+v, want %+v", got, want)
	}
}

// shelf is what many injectors delivered at six pulses each, over and over.
func shelf(t testing.TB, injectors, repeats int) bench.Checked {
	t.Helper()
	var readings []bench.Reading
	for k := range repeats {
		for g := range injectors {
			s, dead := 5*(1+0.0005*float64(g%200)), 0.7+0.0005*float64(g%200) // µl/ms, ms
			for _, pulse := range []float64{2, 3, 4, 6, 9, 12} {
				kPa := 300 + 0.1*float64(k%5-2)
				q := s * math.Sqrt(kPa/300) * (pulse - dead) * (1 + 0.001*float64(k%3-1))
				readings = append(readings, bench.Reading{Injector: strconv.Itoa(g + 1), Pulse: unit.Ms(pulse), Period: unit.Ms(20),
					Shots: 1000, Volume: unit.Ml(q), Pressure: unit.KPa(kPa), Voltage: unit.Volts(13.5), Line: len(readings) + 2})
			}
		}
	}
	c, _, err := bench.Check(bench.Sheet{Readings: bench.NewReadings(readings...)})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// TestManyReadings: an archive of many injectors with repeats is fitted by parts and
// gives every injector its own flow and dead time.
func TestManyReadings(t *testing.T) {
	const injectors = 120
	c := shelf(t, injectors, 30)
	d := gather(c)
	if !d.joined || len(d.groups[7]) != 6 || math.Abs(d.groups[7][0].c.p-300) > 1e-9 {
		t.Fatalf("injector 8 keeps %d readings, want its 6 conditions: %+v", len(d.groups[7]), d.groups[7])
	}
	gs, ok := startGuess(d, 300, false)
	if !ok {
		t.Fatal("no guess")
	}
	part, members := d.forShapes()
	if members != nil || len(part.groups) != injectors {
		t.Error("few joined readings need no part")
	}
	sol, _, err := choose(d, gs, 300, 13.5, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range []int{0, 60, 119} {
		want := 5 * (1 + 0.0005*float64(g))
		if got := math.Exp(sol.Local[g][localFlow]); math.Abs(got/want-1) > 0.003 {
			t.Errorf("injector %d flows %.4f µl/ms, want %.4f", g, got, want)
		}
	}
}

// BenchmarkArchive is the fit of 72,000 readings of 3,000 injectors.
func BenchmarkArchive(b *testing.B) {
	c := shelf(b, 3000, 4)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Injectors(c, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

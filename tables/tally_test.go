package tables

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"injtab/fit"
	"injtab/fit/diag"
)

// TestTailIsThatOfAll: the 95th percentile of what a tail keeps is that of all sizes,
// however many there are, in whatever order they come, and of whatever are alike.
func TestTailIsThatOfAll(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 1))
	for n := 1; n < 3000; n += 1 + n/7 {
		for name, size := range map[string]func(i int) float64{
			"none alike": func(int) float64 { return rng.ExpFloat64() },
			"many alike": func(int) float64 { return math.Round(2 * rng.ExpFloat64()) },
			"all alike":  func(int) float64 { return 1 },
			"rising":     func(i int) float64 { return float64(i) },
			"falling":    func(i int) float64 { return float64(n - i) },
		} {
			all, tail := make([]float64, n), newTail(n)
			for i := range all {
				all[i] = size(i)
				tail.take(all[i])
			}
			if got, want := tail.percentile(n), fit.Percentile(all, 0.95); math.Abs(got-want) > 0 {
				t.Errorf("%d sizes, %s: %g, want %g", n, name, got, want)
			}
		}
	}
}

// TestFormsAreThoseOfEachReading: each way of use is summed up over the readings that it has
// a value for, one by one, also where it has none for some.
func TestFormsAreThoseOfEachReading(t *testing.T) {
	m := demoModel(t)
	e := ecuOf(t, m, Options{})
	for _, row := range e.byVoltage.cells {
		row[2].Status = diag.NotMeasured
	}
	v, err := Verify(e, m.Checked, VerifyOptions{})
	if err != nil {
		t.Fatal(err)
	}
	fewer := 0
	for i, k := range e.keys() {
		var errors []float64
		for p, x := range v.points() {
			r := p.readings.At(int(x.reading))
			ml, ok, err := e.Volume(r.Injector, k.form, k.twoWay, r.Pulse.Ms(), r.Pressure.KPa(), r.Voltage.V())
			if ok && err == nil {
				errors = append(errors, e.missed(ml, r.Dose()))
			}
		}
		got, mean, sign := v.Forms[i], 0.0, 0.0
		for j, x := range errors {
			errors[j] = math.Abs(x)
			mean, sign = mean+math.Abs(x)/float64(len(errors)), sign+x/float64(len(errors))
		}
		want := FormErrors{k.form.String(), k.twoWay, len(errors), mean, fit.Percentile(errors, 0.95), slices.Max(errors), sign}
		if got != want {
			t.Errorf("got %+v, want %+v", got, want)
		}
		if got.Points < v.Points {
			fewer++
		}
	}
	if fewer == 0 || fewer == len(v.Forms) {
		t.Errorf("%d of %d ways of use have no value for some readings", fewer, len(v.Forms))
	}
}

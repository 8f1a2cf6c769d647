package unit_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"injtab/fit/diag/diagtest"
	"injtab/fit/unit"
)

var quantityTexts = []string{"43.5psi", "3 bar", "-1kPa", "1e3kPa", "3", "µ", "9e9e9bar", "1e308bar", "1e-320mbar", "80%", "0.8", "-40F",
	"13.5V", "0.9ms", "900µs", "4.0L", "12.6ohm", "684kg/m3", "0,5ms", "600hp", "52lb/h", "0.6lb/hph", "43 MJ/kg", "100Hz", "-100m",
	"200,250,300kPa", "8,9 , 10V", "200,,300kPa", "1;2;3kPa", "0x1p3kPa", "1_000kPa", "nanV", "+infV"}

// FuzzParse: what is accepted of any quantity is finite and the same when written
// and read again; what is not is quoted.
func FuzzParse(f *testing.F) {
	for _, text := range quantityTexts {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		diagtest.Bounded(t, len(text), func() {
			readBack(t, unit.Times, text)
			readBack(t, unit.Pressures, text)
			readBack(t, unit.Voltages, text)
			readBack(t, unit.Resistances, text)
			readBack(t, unit.Volumes, text)
			readBack(t, unit.Masses, text)
			readBack(t, unit.Densities, text)
			readBack(t, unit.Temperatures, text)
			readBack(t, unit.VolumeFlows, text)
			readBack(t, unit.MassFlows, text)
			readBack(t, unit.Powers, text)
			readBack(t, unit.Consumptions, text)
			readBack(t, unit.Heats, text)
			readBack(t, unit.Lengths, text)
			readBack(t, unit.Frequencies, text)
		})
	})
}

func readBack[Q ~float64](t *testing.T, k unit.Kind[Q], text string) {
	q, err := k.Parse(text)
	if err != nil {
		quotes(t, err, text)
		return
	}
	mustBeFinite(t, text, float64(q))
	u := k.Units[0]
	x := u.Of(float64(q))
	if math.IsInf(x, 0) {
		return // larger than the unit can say
	}
	again, err := k.Parse(strconv.FormatFloat(x, 'g', -1, 64) + u.Symbol)
	if tolerance := 1e-14*(math.Abs(float64(q))+u.Offset) + 1e-300; err != nil || math.Abs(float64(again-q)) > tolerance {
		t.Errorf("%q is %v, written and read again %v, %v", text, float64(q), float64(again), err)
	}
}

func quotes(t *testing.T, err error, text string) {
	if !strings.Contains(err.Error(), strconv.Quote(text)) {
		t.Errorf("%q: the error %q does not say what was read", text, err)
	}
}

func mustBeFinite(t *testing.T, text string, x float64) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		t.Errorf("%q gives %v", text, x)
	}
}

// FuzzParseList: a list has as many values as items, each as if read alone.
func FuzzParseList(f *testing.F) {
	for _, text := range quantityTexts {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		var list []unit.Pressure
		var err error
		diagtest.Bounded(t, len(text), func() { list, err = unit.Pressures.ParseList(text) })
		if err != nil {
			if list != nil || err.Error() == "" {
				t.Fatalf("%q: %v beside %q", text, list, err)
			}
			return
		}
		items := strings.Split(text, ",")
		if len(list) != len(items) {
			t.Fatalf("%q: %d values", text, len(list))
		}
		last, err := unit.Pressures.Parse(items[len(items)-1])
		if err != nil || math.Abs(float64(last-list[len(list)-1])) > 0 {
			t.Errorf("%q ends in %v, read alone %v, %v", text, list[len(list)-1], last, err)
		}
		for _, q := range list {
			mustBeFinite(t, text, float64(q))
		}
	})
}

// FuzzParseRatio: a share written as per cent and as a number is the same.
func FuzzParseRatio(f *testing.F) {
	for _, text := range quantityTexts {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		var r unit.Ratio
		var err error
		diagtest.Bounded(t, len(text), func() { r, err = unit.ParseRatio(text) })
		if err != nil {
			if err.Error() == "" {
				t.Fatalf("%q: an error without words", text)
			}
			return
		}
		mustBeFinite(t, text, float64(r))
		again, err := unit.ParseRatio(strconv.FormatFloat(float64(r), 'g', -1, 64))
		if err != nil || math.Abs(float64(again-r)) > 0 {
			t.Errorf("%q is %v, written and read again %v, %v", text, r, again, err)
		}
	})
}

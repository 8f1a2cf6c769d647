package match

import (
	"math"
	"strings"
	"testing"

	"injtab/fit/diag/diagtest"
)

var pointTexts = []string{"2ms, 10ms 300kPa, open", "OPEN", "2ms 300kPa 13.5V", "0ms", "-3ms", "", " , ", "2ms=2, 10ms=1, open=0", "2ms=-1", "2ms=nan", "2ms", "1e308kPa=1e308"}

// FuzzParsePoints: what is accepted names something, in numbers, and says so again.
func FuzzParsePoints(f *testing.F) {
	for _, text := range pointTexts {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		var list []Where
		var err error
		diagtest.Bounded(t, len(text), func() { list, err = ParsePoints(text) })
		if err != nil {
			if list != nil || err.Error() == "" {
				t.Errorf("%q: %v beside %v", text, list, err)
			}
			return
		}
		if len(list) != strings.Count(text, ",")+1 {
			t.Errorf("%q names %d points", text, len(list))
		}
		for _, w := range list {
			mustName(t, text, w)
		}
	})
}

func mustName(t *testing.T, text string, w Where) {
	for _, x := range []float64{float64(w.Pulse), float64(w.Pressure), float64(w.Voltage)} {
		if !(x >= 0) || math.IsInf(x, 0) {
			t.Errorf("%q gives %+v", text, w)
		}
	}
	said := w.String()
	again, err := parseWhere(said)
	if err != nil || again.String() != said {
		t.Errorf("%q is %q, read again %+v, %v", text, said, again, err)
	}
}

// FuzzParseWeights: what is accepted names points with weights that count.
func FuzzParseWeights(f *testing.F) {
	for _, text := range pointTexts {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		var list []Weight
		var err error
		diagtest.Bounded(t, len(text), func() { list, err = ParseWeights(text) })
		if err != nil {
			if list != nil || err.Error() == "" {
				t.Errorf("%q: %v beside %v", text, list, err)
			}
			return
		}
		for _, w := range list {
			mustName(t, text, w.Where)
			if !(w.Weight >= 0) || math.IsInf(w.Weight, 0) {
				t.Errorf("%q gives the weight %v", text, w.Weight)
			}
		}
	})
}

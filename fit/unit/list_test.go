package unit

import (
	"math"
	"strings"
	"testing"
)

func TestParseList(t *testing.T) {
	good := map[string][]float64{
		"300kPa":              {300},
		"200,250,300kPa":      {200, 250, 300},
		" 2 , 2.5 , 3 bar":    {200, 250, 300},
		"200kPa,3bar,43.5psi": {200, 300, 299.922},
	}
	for text, want := range good {
		got, err := Pressures.ParseList(text)
		if err != nil || len(got) != len(want) {
			t.Errorf("%q: got %v, %v", text, got, err)
			continue
		}
		for i := range want {
			if math.Abs(got[i].KPa()-want[i]) > 1e-3 {
				t.Errorf("%q: value %d is %v kPa, want %v", text, i, got[i].KPa(), want[i])
			}
		}
	}
	bad := map[string]string{
		"200,300":       "has no unit",
		"":              "has no unit",
		"200,,300kPa":   "value 2 of the list",
		"200,300V":      "not a unit",
		"200,nan,3kPa":  "value 2 of the list",
		"200,300kPa,":   "has no unit",
		"1;2;3kPa":      "not a unit",
		"200,0x1p3 kPa": "not a unit",
	}
	for text, want := range bad {
		if got, err := Pressures.ParseList(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: got %v, %v; want an error with %q", text, got, err, want)
		}
	}
}

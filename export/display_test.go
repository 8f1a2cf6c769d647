package export

import (
	"strings"
	"testing"

	"injtab/tables"
)

// Breakpoints are shown with as few digits as tell them to half a thousandth.
func TestAxisDigits(t *testing.T) {
	for _, c := range []struct {
		all  []float64
		want string
	}{
		{[]float64{220, 255, 400}, "220 255 400"},
		{[]float64{9.5, 9.95, 13.8}, "9.50 9.95 13.80"},
		{[]float64{299.921942, 379.211650}, "299.9 379.2"}, // 43.5 and 55 psi
		{[]float64{0, 0.28, 10.6}, "0.00 0.28 10.60"},
		{[]float64{1000.01, 1000.02}, "1000.01 1000.02"}, // none like another
		{[]float64{299.921942}, "300"},
	} {
		var got []string
		for _, x := range c.all {
			got = append(got, number(x, axisDigits(c.all)))
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%v: %s, want %s", c.all, s, c.want)
		}
	}
}

// A value has no more digits than leave two of its interval, and the interval as many
// as the value.
func TestDigitsFollowTheInterval(t *testing.T) {
	list := tables.Table{Cols: []tables.Column{{Name: "flow", Decimals: 3}}}
	for _, c := range []struct {
		value, ci float64
		want      string
	}{{306.0812, 3.4566, "306.1 ±3.5"}, {306.0812, 34.566, "306 ±35"}, {0.60416, 0.02249, "0.604 ±0.022"}, {0.60416, 0.0002249, "0.604 ±0.001"}, {5, 0, "5.000"}} {
		list.Cells = [][]tables.Cell{{{Value: c.value, CI95: c.ci}}}
		if got := column(list, 0)[0]; got != c.want {
			t.Errorf("%v ± %v: %q, want %q", c.value, c.ci, got, c.want)
		}
	}
}

// What belongs to a number stays with it where a line ends.
func TestNumbersStayWithTheirUnits(t *testing.T) {
	for text, want := range map[string]string{
		"it now flows 306.1 ± 3.5 ml/min here": "it now flows|306.1 ± 3.5 ml/min here",
		"measured here at all 300 kPa":         "measured here at all|300 kPa",
	} {
		if got := strings.Join(wrap(text, 24), "|"); got != want {
			t.Errorf("%q: %s, want %s", text, got, want)
		}
	}
}

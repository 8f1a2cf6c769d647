package tables_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"injtab/fit/diag/diagtest"
	"injtab/tables"
)

// FuzzReadAxes: errors have their line; the axes that are accepted have numbers, and
// are the same when written and read again.
func FuzzReadAxes(f *testing.F) {
	for _, text := range []string{
		"# axes\nvoltage_v: 8, 9, 10\npressure_bar: 2 3 4\neffective_us: 500; 800;1200\n", "\ufeffpressure_psi:43.5\t58\r\n",
		"voltage_v 8, 9", "voltage_v: 8\nvoltage_mv: 9", "pressure_kpa: 1e308, nan", "pressure_psi: 1e308", "volume_ml: 3", "voltage_v:", "",
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		var o tables.Options
		var err error
		diagtest.Bounded(t, len(text), func() { err = tables.ReadAxes(strings.NewReader(text), "axes.txt", &o) })
		if err != nil {
			for _, n := range diagtest.Notes(t, err, "axes.txt") {
				if n.Place.Line < 1 && n.Code != "no_axis" {
					t.Errorf("%+v names no line", n)
				}
			}
			return
		}
		var b strings.Builder
		for name, axis := range map[string]tables.AxisSpec{"voltage_v": o.Voltage, "pressure_kpa": o.Pressure, "effective_ms": o.Pulse} {
			for i, x := range axis.Values {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					t.Fatalf("%q gives %v", text, x)
				}
				if i == 0 {
					fmt.Fprintf(&b, "\n%s: ", name)
				}
				fmt.Fprintf(&b, "%g,", x)
			}
		}
		var again tables.Options
		if err := tables.ReadAxes(strings.NewReader(b.String()), "axes.txt", &again); err != nil {
			t.Fatalf("%q is written as %q: %v", text, b.String(), err)
		}
		if diff := cmp.Diff(o, again, cmpopts.EquateApprox(1e-14, 0), cmpopts.IgnoreUnexported()); diff != "" {
			t.Error(diff)
		}
	})
}

// FuzzParseHoldOut: what is accepted holds out some readings and not all.
func FuzzParseHoldOut(f *testing.F) {
	for _, text := range []string{"every 5th", "each condition", " Each  CONDITION", "every 1st", "every 22nd", "every 99999999999999999999th", "fünf"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		h, err := tables.ParseHoldOut(text)
		switch {
		case err != nil && !strings.Contains(err.Error(), fmt.Sprintf("%q", text)):
			t.Errorf("%q: the error %q does not say what was read", text, err)
		case err == nil && h.Condition == (h.Every >= 2):
			t.Errorf("%q gives %+v", text, h)
		case err == nil && !h.Condition:
			again, err := tables.ParseHoldOut(strings.TrimSuffix(h.String(), " reading of each injector"))
			if err != nil || again != h {
				t.Errorf("%q, written and read again %+v, %v", text, again, err)
			}
		}
	})
}

package main

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// A reading is one line of a bench file that is made to be hard on the arithmetic.
type reading struct {
	injector                               string
	pulse, period, shots, ml, kPa, voltage float64 // ms, ms, 1, ml, kPa, V
}

func benchOf(list []reading) []byte {
	var b strings.Builder
	b.WriteString("# fluid = n-heptane\ninjector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v\n")
	for _, r := range list {
		fmt.Fprintf(&b, "%s,%.12g,%.12g,%.12g,%.12g,%.12g,%.12g\n", r.injector, r.pulse, r.period, r.shots, r.ml, r.kPa, r.voltage)
	}
	return []byte(b.String())
}

// grid are readings of injectors at all combinations, with the volume that of gives.
func grid(injectors int, pulses, pressures, voltages []float64, of func(i int, ms, kPa, v float64) float64) (list []reading) {
	for i := range injectors {
		for _, v := range voltages {
			for _, p := range pressures {
				for _, t := range pulses {
					list = append(list, reading{fmt.Sprint(i + 1), t, 20, 1000, of(i, t, p, v), p, v})
				}
			}
		}
	}
	return list
}

// line is an injector without noise: every residual is zero but for the digits.
func line(i int, ms, kPa, v float64) float64 { return 5 * max(0, ms-0.5-6/v) }

var one = []float64{13.5}
var atRated = []float64{300}

// hardBenches name what is wrong with each.
var hardBenches = map[string][]reading{
	"one reading":               grid(1, []float64{4}, atRated, one, line),
	"two readings":              grid(1, []float64{2, 4}, atRated, one, line),
	"one degree of freedom":     grid(1, []float64{2, 4, 8}, atRated, one, line),
	"zero residuals":            grid(3, []float64{1.5, 2, 3, 4, 6, 8}, []float64{250, 300, 350}, []float64{10, 12, 14}, line),
	"identical readings":        append(grid(2, []float64{4}, atRated, one, line), grid(2, []float64{4, 4, 4}, atRated, one, line)...),
	"one pulse":                 grid(4, []float64{4}, []float64{250, 300, 350}, []float64{10, 12, 14}, line),
	"the same at every pulse":   grid(3, []float64{2, 4, 8}, atRated, one, func(int, float64, float64, float64) float64 { return 20 }),
	"less at longer pulses":     grid(3, []float64{2, 4, 8}, atRated, one, func(_ int, ms, _, _ float64) float64 { return 100 / ms }),
	"pulses next to another":    grid(2, []float64{4, 4 + 1e-9, 4 + 2e-9}, atRated, one, line),
	"voltages next to another":  grid(2, []float64{2, 4, 8}, atRated, []float64{13.5, 13.5 + 1e-10}, line),
	"pressures next to another": grid(2, []float64{2, 4, 8}, []float64{300, 300 + 1e-8}, one, line),
	"tiny amounts":              grid(2, []float64{2, 4, 8}, atRated, one, func(i int, ms, p, v float64) float64 { return 1e-3 * line(i, ms, p, v) }),
	"as much as is believed":    grid(2, []float64{2, 4, 8}, atRated, one, func(_ int, ms, _, _ float64) float64 { return 10 * ms }),
	"nothing but for one":       grid(2, []float64{2, 4, 8}, atRated, one, func(i int, ms, p, v float64) float64 { return float64(i) * line(i, ms, p, v) }),
	"nothing at all":            grid(2, []float64{2, 4, 8}, atRated, one, func(int, float64, float64, float64) float64 { return 0 }),
	"opens at one voltage":      grid(2, []float64{2, 4, 8}, atRated, []float64{6, 13.5}, func(i int, ms, p, v float64) float64 { return line(i, ms, p, v) * float64(int(v/13)) }),
	"lowest limits":             grid(2, []float64{0.011, 0.012}, []float64{11}, []float64{3.1}, func(int, float64, float64, float64) float64 { return 1e-4 }),
	"highest limits":            grid(2, []float64{19, 19.98}, []float64{1499}, []float64{99}, func(_ int, ms, _, _ float64) float64 { return 10 * ms }),
	"held open alone":           grid(3, []float64{20}, []float64{200, 300}, one, func(_ int, _, kPa, _ float64) float64 { return kPa / 3 }),
	"a million shots":           {{"a", 2, 20, 1e6, 5e3, 300, 13.5}, {"a", 4, 20, 1e8, 1.7e6, 300, 13.5}, {"a", 8, 20, 1, 0.03, 300, 13.5}},
}

// wildBench is a session of anything.
func wildBench(r *rand.Rand) []reading {
	pick := func(from ...float64) []float64 {
		var list []float64
		for range 1 + r.IntN(3) {
			list = append(list, from[r.IntN(len(from))]*(1+[]float64{0, 0, 1e-12, 1e-3}[r.IntN(4)]))
		}
		return list
	}
	noise, scale, law := []float64{0, 1e-12, 0.01, 0.5, 3}[r.IntN(5)], []float64{1, 1, 1e-3, 10}[r.IntN(4)], r.IntN(4)
	list := grid(1+r.IntN(4), pick(0.4, 0.8, 2, 2, 4, 8, 16, 20), pick(11, 200, 300, 300, 1400), pick(3.2, 6, 10, 13.5, 13.5, 80), func(i int, ms, kPa, v float64) float64 {
		q := []float64{line(i, ms, kPa, v), 5 * ms, 20, 0}[law]
		return max(0, scale*q*(1+noise*r.NormFloat64()))
	})
	return list[:1+r.IntN(len(list))]
}

var notFinite = regexp.MustCompile(`(?i)[^a-z](nan|[+-]?inf(inity)?)[^a-z]`)

// TestNoOutputHoldsWhatIsNoNumber works on hard and wild benches with every verb that
// reads one: each is answered in finite numbers or refused in words.
func TestNoOutputHoldsWhatIsNoNumber(t *testing.T) {
	wild, r := 8, rand.New(rand.NewPCG(11, 7))
	if long() {
		wild = 300
	}
	benches := map[string][]reading{}
	for name, list := range hardBenches {
		benches[name] = list
	}
	for i := range wild {
		benches[fmt.Sprint("wild ", i)] = wildBench(r)
	}
	answered, refused := 0, 0
	for name, list := range benches {
		t.Run(name, func(t *testing.T) {
			a, b := finite(t, benchOf(list))
			answered, refused = answered+a, refused+b
		})
	}
	t.Logf("%d benches: %d commands answered, %d refused", len(benches), answered, refused)
	if answered < 100 {
		t.Errorf("%d commands were answered and %d refused: the benches are too wild to tell anything", answered, refused)
	}
}

// finite runs every verb on a bench file.
func finite(t *testing.T, data []byte) (answered, refused int) {
	t.Helper()
	t.Chdir(t.TempDir())
	put(t, "bench.csv", data)
	for _, args := range [][]string{
		{"check", "bench.csv", "--json"}, {"check", "bench.csv", "--full"}, {"fit", "bench.csv", "--json"}, {"fit", "bench.csv", "--assume", "--markdown"},
		{"fit", "bench.csv", "--residuals", "--csv"}, {"match", "bench.csv", "--of", "2", "--json"}, {"compare", "bench.csv", "bench.csv", "--json"},
		{"tables", "bench.csv", "-o", "tables", "--json"}, {"tables", "bench.csv", "-o", "assumed", "--assume", "--extrapolate", "--fuel", "E85", "--each", "--pressure-axis", "50,300,1000kPa", "--voltage-axis", "4,8,20V"},
		{"verify", "tables", "bench.csv", "--json"}, {"verify", "assumed", "bench.csv", "--markdown"},
		{"headroom", "--bench", "bench.csv", "--power", "100kW", "--cylinders", "4", "--rpm", "6000", "--fuel", "gasoline", "--json"},
		{"report", "bench.csv", "-o", "page.html", "--plots", "pictures", "--json"},
	} {
		got := say(args...)
		switch {
		case got.code == done:
			answered++
		case (got.code == badInput || got.code == wrongUsage) && strings.Contains(got.err, "injtab: error: "):
			refused++
		default:
			t.Errorf("%v: exit %d, %s", args, got.code, got.err)
		}
		if found := notFinite.FindString(got.out + got.err); found != "" || strings.Contains(got.err, "mistake of the program") {
			t.Errorf("%v says %q: %s\n%s", args, found, got.err, data)
		}
	}
	walk(t, ".", func(path string, text []byte) {
		if ext := filepath.Ext(path); ext == ".png" || ext == ".xlsx" {
			return
		}
		if found := notFinite.FindString(string(text)); found != "" {
			t.Errorf("%s has %q\n%s", path, found, data)
		}
	})
	return answered, refused
}

package match

import (
	"context"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"injtab/fit/bench"
	"injtab/fit/unit"
)

// A box holds simulated injectors: delivered volume per shot is flow · (pulse −
// dead time), plus reading noise. The figures are assumed, not from a source.
type box struct {
	ids  []string
	flow []float64 // of the mean injector's 5 ml/s
	dead []float64 // ms
}

var pulses = []float64{2, 3, 4, 8, 12, 18} // ms

// newBox makes n injectors: flow sd 1.5 %, dead time sd 0.02 ms.
func newBox(r *rand.Rand, n int) box {
	var b box
	for i := range n {
		b.ids = append(b.ids, fmt.Sprint(i+1))
		b.flow = append(b.flow, 1+0.015*r.NormFloat64())
		b.dead = append(b.dead, 0.8+0.02*r.NormFloat64())
	}
	return b
}

func (b box) perShot(i int, pulse float64) float64 { return 0.005 * b.flow[i] * (pulse - b.dead[i]) }

// rows writes a reading of 1000 shots of every injector at every pulse, read to
// 0.1 ml with noise sd 0.1 %.
func (b box) rows(r *rand.Rand) []string {
	var rows []string
	for i, id := range b.ids {
		for _, t := range pulses {
			ml := 1000 * b.perShot(i, t) * (1 + 0.001*r.NormFloat64())
			rows = append(rows, fmt.Sprintf("%s,%g,20,1000,%.1f", id, t, ml))
		}
	}
	return rows
}

const header = "# pressure_kpa = 300\n# voltage_v = 13.5\n# fluid = n-heptane\n# division_ml = 0.1\ninjector,pulse_ms,period_ms,shots,volume_ml\n"

// checked reads and checks rows of injector, pulse, period, shots, volume.
func checked(t testing.TB, rows []string) bench.Checked {
	t.Helper()
	sheet, err := bench.Read(strings.NewReader(header+strings.Join(rows, "\n")+"\n"), "bench.csv")
	if err != nil {
		t.Fatal(err)
	}
	c, _, err := bench.Check(sheet)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func chosen(t testing.TB, c bench.Checked, o Options) Result {
	t.Helper()
	r, err := Choose(context.Background(), c, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// small is four injectors at two pulses: 1, 2 and 3 agree, 4 is 10 % up at the
// long one. Injector 2 and 3 are equal at 10 ms.
func small() []string {
	return []string{
		"1,2,20,1000,6.00", "1,10,20,1000,46.0",
		"2,2,20,1000,6.06", "2,10,20,1000,46.46",
		"3,2,20,1000,6.03", "3,10,20,1000,46.46",
		"4,2,20,1000,6.03", "4,10,20,1000,50.6",
	}
}

func ms(x float64) unit.Time { return unit.Ms(x) }

package tables_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"injtab/fit"
	"injtab/fit/bench"
	"injtab/tables"
)

// An invention is an injector family by plain formulas that the fit does not know: dead
// time over pressure in kPa and voltage in V, and what a pulse of w ms of open time
// delivers beside the straight line, both in ms.
type invention struct {
	name string
	dead func(p, v float64) float64
	bend func(w, v float64) float64
	// 95th percentiles allowed from 2 ms open and below, in %: what one added time for
	// all supplies leaves, and a bounce that no exponential follows
	long, short float64
}

func inventions() []invention {
	power := func(p, v float64) float64 { return 0.25 + 22/math.Pow(v, 1.45)*math.Pow(p/300, 0.25) }
	decay := func(p, v float64) float64 {
		return 0.3 + 3.2*math.Exp(-v/5.5)*(1+0.0008*(p-300)) + 0.0003*(p-300)
	}
	inverse := func(p, v float64) float64 { return -0.25 + 12/v + 0.0004*(p-300) }
	return []invention{
		{"dead time by a power of voltage, short pulses on the line", power, func(_, _ float64) float64 { return 0 }, 0.9, 2.6},
		{"dead time by a decay, short pulses deliver more", decay, func(w, _ float64) float64 { return 0.08 * math.Exp(-w*w/0.49) }, 0.9, 2.6},
		{"dead time by the inverse of voltage, short pulses deliver less by voltage", inverse, func(w, v float64) float64 { return -0.15 * math.Exp(-w/0.45) * v / 13.5 }, 0.9, 2.6},
		{"dead time by a power, short pulses deliver less below a stop", power, func(w, _ float64) float64 { return -0.12 * math.Pow(math.Max(1-w, 0), 2) }, 0.9, 2.6},
		{"dead time by the inverse, short pulses that bounce", inverse, func(w, _ float64) float64 { return 0.06 * math.Sin(2*math.Pi*w/1.1) * math.Exp(-w/0.7) }, 0.9, 3},
	}
}

// A batch is some injectors of an invention: flows at 300 kPa in ml/min and factors on
// the dead time.
type batch struct {
	invention
	flow, factor []float64
}

func (x invention) batch(n int, rng *rand.Rand) batch {
	b := batch{invention: x}
	for range n {
		b.flow, b.factor = append(b.flow, 300*(1+0.03*rng.NormFloat64())), append(b.factor, 1+0.05*rng.NormFloat64())
	}
	return b
}

// perShot is what a pulse of t ms delivers in µl.
func (b batch) perShot(i int, t, p, v float64) float64 {
	w := t - b.factor[i]*b.dead(p, v)
	if w <= 0 {
		return 0
	}
	return max(0, b.flow[i]/60*math.Sqrt(p/300)*(w+b.bend(w, v)))
}

// sheet is a bench file of the batch, read to half a division of 1 ml with 0.3 % of
// scatter.
func (b batch) sheet(rng *rand.Rand) string {
	var s strings.Builder
	s.WriteString("# period_ms = 20\n# division_ml = 1\ninjector,pulse_ms,pressure_kpa,voltage_v,shots,volume_ml\n")
	for _, v := range []float64{9, 11, 13, 15} {
		for _, p := range []float64{250, 350, 450} {
			for _, t := range []float64{1.2, 1.4, 1.6, 1.8, 2, 2.5, 3.5, 5, 8, 12} {
				for i := range b.flow {
					q := b.perShot(i, t, p, v)
					if q <= 0 {
						continue
					}
					shots := math.Ceil(80000/q/50) * 50
					ml := q * shots / 1000 * (1 + 0.003*rng.NormFloat64())
					fmt.Fprintf(&s, "%d,%g,%g,%g,%g,%.1f\n", i+1, t, p, v, shots, math.Round(ml*2)/2)
				}
			}
		}
	}
	return s.String()
}

// misses are how far, in %, the fuel of looked-up pulses is from what was asked.
func (b batch) misses(t *testing.T, e *tables.ECU) (long, short []float64) {
	t.Helper()
	for _, v := range []float64{10, 12, 13.5, 14.5} {
		for _, p := range []float64{270, 300, 400} {
			for _, w := range []float64{0.8, 1, 1.3, 1.6, 2, 3, 5, 8} {
				for i := range b.flow {
					want := b.perShot(i, w+b.factor[i]*b.dead(p, v), p, v)
					pulse, err := e.Pulse(fmt.Sprint(i+1), tables.FlowAndTime, true, want/1000, p, v)
					if err != nil {
						t.Fatal(err)
					}
					miss := 100 * math.Abs(b.perShot(i, pulse, p, v)/want-1)
					if w >= 2 {
						long = append(long, miss)
					} else {
						short = append(short, miss)
					}
				}
			}
		}
	}
	return long, short
}

// TestInjectorsOfOtherPhysics than those the simulator and the fit were made from are
// fitted and laid out as well.
func TestInjectorsOfOtherPhysics(t *testing.T) {
	for k, x := range inventions() {
		rng := rand.New(rand.NewPCG(uint64(k), 7))
		b := x.batch(4, rng)
		m, err := fit.Injectors(checkedText(t, b.sheet(rng)), fit.Options{})
		if err != nil {
			t.Fatal(err)
		}
		set, err := tables.Build(m, tables.Options{})
		if err != nil {
			t.Fatal(err)
		}
		e, err := tables.NewECU(set.Tables)
		if err != nil {
			t.Errorf("%s: %v", x.name, err)
			continue
		}
		long, short := b.misses(t, e)
		l, s := p95(long), p95(short)
		t.Logf("%s: %.2f %% from 2 ms, %.2f %% below", x.name, l, s)
		if l > x.long || s > x.short {
			t.Errorf("%s: 95 of 100 within %.2f %% from 2 ms and %.2f %% below, want %.1f and %.1f", x.name, l, s, x.long, x.short)
		}
	}
}

func checkedText(t testing.TB, csv string) bench.Checked {
	t.Helper()
	sheet, err := bench.Read(strings.NewReader(csv), "invented.csv")
	if err != nil {
		t.Fatal(err)
	}
	c, _, err := bench.Check(sheet)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

package tables_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"injtab/fit"
	"injtab/fit/unit"
	"injtab/tables"
)

// A drawnBench is what a person might run: a batch of any size, dead time and bend at any
// voltages, pressures and pulses, on any scale.
type drawnBench struct {
	batch
	volts, kpa, pulses []float64
	scatter, division  float64
}

func drawBench(rng *rand.Rand) drawnBench {
	known := inventions()
	x := known[rng.IntN(len(known))]
	dead, bend := x.dead, x.bend
	slower, stronger := 0.6+1.2*rng.Float64(), 1.5*rng.Float64()
	x.dead = func(p, v float64) float64 { return slower * dead(p, v) }
	x.bend = func(w, v float64) float64 { return stronger * bend(w, v) }
	out := drawnBench{batch: x.batch(1+rng.IntN(8), rng),
		volts:   someOf(rng, []float64{8, 9.5, 11, 12.5, 13.5, 15}, 1),
		kpa:     someOf(rng, []float64{200, 300, 400, 550}, 1),
		pulses:  someOf(rng, []float64{1, 1.2, 1.5, 1.8, 2, 2.5, 3, 4, 5, 7, 10, 14}, 3),
		scatter: 0.002 + 0.008*rng.Float64(), division: []float64{0.5, 1, 2}[rng.IntN(3)],
	}
	larger := math.Exp(0.6 * rng.NormFloat64())
	for i := range out.flow {
		out.flow[i] *= larger
	}
	return out
}

// someOf draws at least so many of the values, in their order.
func someOf(rng *rand.Rand, all []float64, least int) (out []float64) {
	at := rng.Perm(len(all))[:least+rng.IntN(len(all)-least+1)]
	slices.Sort(at)
	for _, i := range at {
		out = append(out, all[i])
	}
	return out
}

func (b drawnBench) csv(rng *rand.Rand) string {
	var s strings.Builder
	fmt.Fprintf(&s, "# period_ms = 20\n# division_ml = %g\ninjector,pulse_ms,pressure_kpa,voltage_v,shots,volume_ml\n", b.division)
	for _, v := range b.volts {
		for _, p := range b.kpa {
			for _, t := range b.pulses {
				for i := range b.flow {
					q, shots := b.perShot(i, t, p, v), 1000.0
					if q > 0 {
						shots = min(max(math.Ceil(80000/q/50)*50, 50), 20000)
					}
					ml := q * shots / 1000 * (1 + b.scatter*rng.NormFloat64())
					fmt.Fprintf(&s, "%d,%g,%g,%g,%g,%.2f\n", i+1, t, p, v, shots, math.Round(2*ml/b.division)*b.division/2)
				}
			}
		}
	}
	return s.String()
}

// TestDrawnSessions: whatever a person measures, the model's intervals hold what is true
// where it was measured, hardly one is far off, and the tables can be looked up.
func TestDrawnSessions(t *testing.T) {
	sessions := 40
	if os.Getenv("INJTAB_LONG") != "" {
		sessions = 1000
	}
	in, n, wild := 0, 0, 0
	for seed := range sessions {
		rng := rand.New(rand.NewPCG(uint64(seed), 99))
		b := drawBench(rng)
		m, err := fit.Injectors(checkedText(t, b.csv(rng)), fit.Options{})
		if err != nil {
			t.Logf("session %d: %v", seed, err)
			continue
		}
		set, err := tables.Build(m, tables.Options{})
		if err != nil {
			t.Fatalf("session %d: %v", seed, err)
		}
		if _, err := tables.NewECU(set.Tables); err != nil {
			t.Errorf("session %d: %v", seed, err)
		}
		b.eachEstimate(m, func(what string, e fit.Estimate, truth float64) {
			n++
			if e.Lo <= truth && truth <= e.Hi {
				in++
			}
			if math.Abs(e.Value-truth) > 3*e.CI95() {
				t.Logf("session %d, %s: %.6g ± %.2g, true is %.6g", seed, what, e.Value, e.CI95(), truth)
				wild++
			}
		})
	}
	pct := 100 * float64(in) / float64(n)
	t.Logf("%.1f %% of %d intervals hold the truth", pct, n)
	if pct < 95 || wild > n/10000 {
		t.Errorf("only %.1f %% of the intervals hold the truth, %d of %d are off by three times as much", pct, wild, n)
	}
}

// eachEstimate gives static flow and delivered fuel of every fitted injector beside what
// is true, at the conditions measured with the needle at its stop.
func (b drawnBench) eachEstimate(m *fit.Model, yield func(what string, e fit.Estimate, truth float64)) {
	for g, x := range m.Members {
		i := int(x.ID[0] - '1') // written on them: 1 to 8
		yield("flow of "+x.ID, x.Flow, b.flow[i]*math.Sqrt(m.RefP.KPa()/300))
		for _, v := range b.volts {
			for _, p := range b.kpa {
				for _, t := range b.pulses {
					if t-b.factor[i]*b.dead(p, v) < 0.5 {
						continue
					}
					e := m.Delivered(fit.Who{g}, unit.Ms(t), unit.KPa(p), unit.Volts(v))
					if e.Status.HasValue() {
						yield(fmt.Sprintf("fuel of %s at %g ms, %g kPa, %g V", x.ID, t, p, v), e, b.perShot(i, t, p, v)/1000)
					}
				}
			}
		}
	}
}

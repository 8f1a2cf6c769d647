package plan

import (
	"encoding/json"
	"math"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"injtab/fit"
	"injtab/fit/unit"
)

func inputs() Inputs {
	return Inputs{
		Number: 8, Slots: 4, Purpose: Both, Flow: unit.MlMin(510), DeadTime: unit.Ms(0.72),
		Vessel:        Vessel{Capacity: unit.Ml(100)},
		PressureRange: [2]unit.Pressure{unit.KPa(200), unit.KPa(450)}, VoltageRange: [2]unit.Voltage{7, 15}, BenchTime: 4 * 3600,
	}
}

func made(t *testing.T, in Inputs) Plan {
	t.Helper()
	p, err := Make(in)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// usual is the plan for inputs, made once.
var usual = sync.OnceValues(func() (Plan, error) { return Make(inputs()) })

func usualPlan(t *testing.T) Plan {
	t.Helper()
	p, err := usual()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// drawInputs gives benches and boxes of injectors as they may come.
func drawInputs(t *rapid.T) Inputs {
	in := Inputs{
		Number: rapid.IntRange(1, 12).Draw(t, "injectors"), Slots: rapid.IntRange(1, 8).Draw(t, "slots"),
		Purpose: rapid.SampledFrom([]Purpose{Match, Map, Both}).Draw(t, "purpose"),
		Vessel:  Vessel{Capacity: unit.Ml(rapid.SampledFrom([]float64{50, 100, 250, 500}).Draw(t, "vessel"))},
		Period:  unit.Ms(rapid.SampledFrom([]float64{16, 20, 33}).Draw(t, "period")),
		Target:  unit.Ratio(rapid.SampledFrom([]float64{0.007, 0.01, 0.03}).Draw(t, "target")),
	}
	if rapid.Bool().Draw(t, "flow known") {
		in.Flow = unit.MlMin(rapid.Float64Range(150, 1500).Draw(t, "flow"))
	}
	if rapid.Bool().Draw(t, "dead time known") {
		in.DeadTime = unit.Ms(rapid.Float64Range(0.4, 1.2).Draw(t, "dead time"))
	}
	if rapid.Bool().Draw(t, "ranges") {
		in.PressureRange = [2]unit.Pressure{unit.KPa(rapid.Float64Range(150, 280).Draw(t, "low")), unit.KPa(rapid.Float64Range(300, 500).Draw(t, "high"))}
		in.VoltageRange = [2]unit.Voltage{unit.Volts(rapid.Float64Range(7, 11).Draw(t, "low")), unit.Volts(rapid.Float64Range(13, 16).Draw(t, "high"))}
	}
	if rapid.Bool().Draw(t, "time given") {
		in.BenchTime = unit.Time(rapid.Float64Range(1, 4).Draw(t, "hours") * 3600)
	}
	return in
}

// Whatever the bench: the plan is never worse than an evenly spread one of the same
// time, keeps to the bench time, fills no vessel above its top mark, leaves the
// injector time to close and the coil its duty, and its totals add up.
func TestPlansKeepTheirPromises(t *testing.T) {
	checks := 0
	rapid.Check(t, func(rt *rapid.T) {
		if checks++; checks > 10 { // each makes a whole plan
			return
		}
		in := drawInputs(rt)
		p, err := Make(in)
		if err != nil {
			if !strings.Contains(err.Error(), "bench time") && !strings.Contains(err.Error(), "vessel") {
				rt.Fatal(err)
			}
			return
		}
		if p.Worst > p.Even.Worst*(1+1e-9) {
			rt.Errorf("worst %v, evenly spread %v", p.Worst, p.Even.Worst)
		}
		if in.BenchTime > 0 && p.BenchTime > in.BenchTime.Seconds()/60*(1+1e-6) {
			rt.Errorf("%v min in a bench time of %v", p.BenchTime, in.BenchTime.Seconds()/60)
		}
		promises(rt, p)
	})
}

// TestAPlanTakenEvenKeepsToTheBenchTime: here the evenly spread points are the
// better ones, and the conditions they are spread over need more turns for the
// repeats than the points chosen do.
func TestAPlanTakenEvenKeepsToTheBenchTime(t *testing.T) {
	p := made(t, Inputs{
		Number: 10, Slots: 5, Purpose: Both, DeadTime: unit.Ms(0.445), Period: unit.Ms(33), Target: 0.01,
		Vessel: Vessel{Capacity: unit.Ml(250)}, BenchTime: 10575,
	})
	if limit := 10575 / 60.0; p.BenchTime > limit || p.Even.BenchTime > limit {
		t.Errorf("%v min, evenly spread %v, in a bench time of %v", p.BenchTime, p.Even.BenchTime, limit)
	}
	promises(t, p)
}

type failer interface{ Errorf(string, ...any) }

func promises(t failer, p Plan) {
	j := p.job
	fluid, runs := 0.0, 0
	for _, x := range p.Points {
		if x.Expected > j.vessel.TopMark.Ml()/(1+spreadOfKnown)+1e-6 {
			t.Errorf("%v ml in a vessel with its top mark at %v", x.Expected, j.vessel.TopMark.Ml())
		}
		if x.Kind == pulsed && (x.Period-x.Pulse < fit.LeastOffTime-1e-6 || x.Pulse > topDuty*x.Period+1e-6) {
			t.Errorf("a pulse of %v ms in a period of %v", x.Pulse, x.Period)
		}
		if math.Abs(x.Duration-float64(x.Shots)*x.Period/1e3) > 1e-4*x.Duration || x.Duration > longestRun+1 {
			t.Errorf("%d shots every %v ms in %v s", x.Shots, x.Period, x.Duration)
		}
		runs += x.Times
	}
	for _, r := range p.Order {
		fluid += p.Points[r.Point].Expected * float64(len(r.Slots)) / 1e3
	}
	if runs != p.Runs || len(p.Order) != p.Runs || math.Abs(fluid-p.Fluid) > 1e-4*fluid+1e-6 {
		t.Errorf("%d runs and %v l announced, %d and %v planned", p.Runs, p.Fluid, runs, fluid)
	}
	if math.Abs(p.agenda.time(j).Seconds()/60-p.BenchTime) > 1e-3*p.BenchTime {
		t.Errorf("%v min announced, %v planned", p.BenchTime, p.agenda.time(j).Seconds()/60)
	}
}

// A plan is sharper the more time it has, and without a time it stops once its
// target is met.
func TestTimeBuysCertainty(t *testing.T) {
	in := inputs()
	in.Number = 4
	last := math.Inf(1)
	for _, hours := range []float64{1, 2, 3} {
		in.BenchTime = unit.Time(hours * 3600)
		p := made(t, in)
		var random float64
		for _, y := range p.Yield {
			if y.Quantity == "delivered fuel, short pulses" {
				random = y.Random
			}
		}
		if random > last {
			t.Errorf("%v hours leave %v %% to chance, fewer left %v", hours, random, last)
		}
		last = random
	}
	in.BenchTime, in.Target, in.Purpose = 0, 0.02, Match
	p := made(t, in)
	if !p.Met || p.BenchTime > 8*60 {
		t.Errorf("met %v in %v min", p.Met, p.BenchTime)
	}
}

// A coarser vessel needs fuller fillings, and a wider target emptier ones.
func TestFillFollowsTheTarget(t *testing.T) {
	fill := func(capacity, target float64) float64 {
		in := inputs()
		in.Vessel.Capacity, in.Target, in.Purpose = unit.Ml(capacity), unit.Ratio(target), Match
		in.Vessel.Division, in.Vessel.Tolerance = unit.Ml(capacity/100), unit.Ml(capacity/100)
		for _, x := range made(t, in).Points {
			if x.Kind == pulsed && x.Pulse > 4 && x.Pulse < 6 {
				return x.Expected
			}
		}
		t.Fatal("no pulse of 5 ms")
		return 0
	}
	if a, b := fill(250, 0.015), fill(250, 0.03); a < 1.8*b || a > 2.3*b {
		t.Errorf("1.5 %% takes %v ml and 3 %% takes %v, want about twice as much", a, b)
	}
	if a, b := fill(500, 0.02), fill(250, 0.02); a < 1.8*b || a > 2.2*b {
		t.Errorf("divisions twice as coarse take %v ml where %v did", a, b)
	}
}

func TestPlanIsTheSameEveryTime(t *testing.T) {
	a, err := json.Marshal(usualPlan(t))
	if err != nil {
		t.Fatal(err)
	}
	b, _ := json.Marshal(made(t, inputs()))
	if diff := cmp.Diff(string(a), string(b)); diff != "" {
		t.Error(diff)
	}
}

func TestJSONHasItsKeys(t *testing.T) {
	data, err := json.Marshal(usualPlan(t))
	if err != nil {
		t.Fatal(err)
	}
	var doc map[string]any
	if err := json.Unmarshal(data, &doc); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"points", "runs", "bench_time_min", "fluid_l", "order", "yield", "even_plan", "warnings"} {
		if _, ok := doc[key]; !ok {
			t.Errorf("no key %s", key)
		}
	}
	point := doc["points"].([]any)[1].(map[string]any)
	for _, key := range []string{"pulse_ms", "period_ms", "pressure_kpa", "voltage_v", "shots", "duration_s", "expected_ml", "expected_uncertainty_pct"} {
		if x, ok := point[key].(float64); !ok || x <= 0 {
			t.Errorf("key %s of a point: %v", key, point[key])
		}
	}
}

// The session begins every seating with a leak test, and looks for the lowest
// opening voltage where the bench goes that low.
func TestLeakAndOpeningTests(t *testing.T) {
	p := usualPlan(t)
	count := map[string]int{}
	for _, x := range p.Points {
		count[x.Kind] += x.Times
		if x.Kind == leak && (x.Pulse != 0 || x.Pressure != 450 || x.Duration < 60) {
			t.Errorf("leak test %+v", x)
		}
		if x.Kind == opening && (x.Voltage < 7 || x.Pulse < 4 || x.Pressure != 300) {
			t.Errorf("opening test %+v", x)
		}
	}
	if count[leak] != 3 || count[opening] < 2 {
		t.Errorf("kinds of runs %v", count)
	}
	in := inputs()
	in.VoltageRange[0], in.BenchTime = 10, 2.5*3600
	for _, x := range made(t, in).Points {
		if x.Kind == opening {
			t.Errorf("opening test on a bench that can't go low: %+v", x)
		}
	}
}

// Low-resistance coils are never held open.
func TestLowResistanceIsNotHeldOpen(t *testing.T) {
	for ohm, want := range map[unit.Resistance]int{0: 3, 14.5: 3, 2.4: 0} {
		in := inputs()
		in.Resistance = ohm
		j, err := prepare(in)
		if err != nil {
			t.Fatal(err)
		}
		held := 0
		for _, s := range j.spots() {
			if s.held(j.period) {
				held++
			}
		}
		if held != want {
			t.Errorf("%v ohm: held open at %d pressures, want %d", ohm, held, want)
		}
	}
}

// A session of weighings asks for grams.
func TestScalePlansInGrams(t *testing.T) {
	in := inputs()
	in.Vessel, in.Scale, in.Purpose = Vessel{}, Scale{Capacity: unit.Grams(300), Step: unit.Grams(0.1)}, Match
	p := made(t, in)
	for _, x := range p.Points {
		if x.Kind == pulsed {
			near(t, "grams per ml", x.Grams/x.Expected, p.job.Fluid.Density.KgM3()/1000, 1e-4)
		}
	}
}

func BenchmarkMake(b *testing.B) {
	in := inputs()
	for b.Loop() {
		if _, err := Make(in); err != nil {
			b.Fatal(err)
		}
	}
}

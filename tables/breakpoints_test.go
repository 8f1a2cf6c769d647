package tables

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// enumerate finds the least worst miss of k nodes by trying all of them.
func enumerate(at []float64, rows [][]float64, weights []float64, k int) float64 {
	n, best := len(at), math.Inf(1)
	var pick func(chosen []int)
	pick = func(chosen []int) {
		if len(chosen) == k-1 {
			nodes := append(slices.Clone(chosen), n-1)
			worst := 0.0
			for _, f := range rows {
				var xs, ys []float64
				for _, i := range nodes {
					xs, ys = append(xs, at[i]), append(ys, f[i])
				}
				for i, x := range at {
					off := math.Abs(interpolate(xs, ys, x) - f[i])
					if weights != nil {
						off *= weights[i]
					}
					worst = math.Max(worst, off)
				}
			}
			best = math.Min(best, worst)
			return
		}
		for i := chosen[len(chosen)-1] + 1; i < n-1; i++ {
			pick(append(slices.Clone(chosen), i))
		}
	}
	pick([]int{0})
	return best
}

func TestBreakpointsAreTheBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(4, 9).Draw(t, "n")
		k := rapid.IntRange(2, n-1).Draw(t, "k")
		at := make([]float64, n)
		x := 0.0
		for i := range at {
			x += rapid.Float64Range(0.1, 2).Draw(t, "step")
			at[i] = x
		}
		var rows [][]float64
		for range rapid.IntRange(1, 3).Draw(t, "rows") {
			rows = append(rows, rapid.SliceOfN(rapid.Float64Range(-5, 5), n, n).Draw(t, "f"))
		}
		var weights []float64
		if rapid.Bool().Draw(t, "weighted") {
			weights = rapid.SliceOfN(rapid.Float64Range(0.1, 3), n, n).Draw(t, "w")
		}
		picked, miss := Breakpoints(at, rows, weights, k, 0)
		if len(picked) != k || picked[0] != 0 || picked[k-1] != n-1 || !slices.IsSorted(picked) {
			t.Fatalf("picked %v of %d, want %d with both ends", picked, n, k)
		}
		want := enumerate(at, rows, weights, k)
		if slack := float64(k) * (1 - nearly) * (1 + want); math.Abs(miss-want) > slack { // ties to nearly are ties
			t.Fatalf("worst miss %.12g, the best is %.12g", miss, want)
		}
	})
}

// TestBreakpointsOfAStraightLine are spaced evenly: where nothing bends, crowding them
// would tell nothing.
func TestBreakpointsOfAStraightLine(t *testing.T) {
	at := spaced(8, 16, 81)
	line, bent := make([]float64, len(at)), make([]float64, len(at))
	for i, v := range at {
		line[i] = 0.5 + 0.1*v
		bent[i] = line[i] + 0.01*math.Exp(-(v-8))
	}
	picked, miss := Breakpoints(at, [][]float64{line}, nil, 9, 0.0005)
	if want := []int{0, 10, 20, 30, 40, 50, 60, 70, 80}; !slices.Equal(picked, want) || miss > 1e-12 {
		t.Errorf("picked %v with a miss of %g, want every tenth", picked, miss)
	}
	picked, miss = Breakpoints(at, [][]float64{bent}, nil, 9, 0.0005)
	even := evenMiss(at, [][]float64{bent}, nil, 9)
	if miss > 0.0005 || even <= 0.0005 || picked[1] >= 10 {
		t.Errorf("picked %v with a miss of %g, evenly spaced ones miss by %g", picked, miss, even)
	}
	if _, miss = Breakpoints(at, [][]float64{bent}, nil, 4, 0.0005); miss <= 0.0005 {
		t.Errorf("four breakpoints miss by %g", miss)
	}
}

func TestInterpolateHoldsTheEnds(t *testing.T) {
	nodes, values := []float64{1, 2, 4}, []float64{10, 20, 0}
	for x, want := range map[float64]float64{0: 10, 1: 10, 1.5: 15, 2: 20, 3: 10, 4: 0, 9: 0} {
		if got := interpolate(nodes, values, x); math.Abs(got-want) > 1e-12 {
			t.Errorf("at %g: %g, want %g", x, got, want)
		}
	}
	if got := interpolate([]float64{5}, []float64{7}, 3); math.Abs(got-7) > 1e-12 {
		t.Errorf("one node: %g, want 7", got)
	}
}

// TestChosenBeatsEven: at equal size the chosen breakpoints miss less than evenly
// spaced ones, by as much as was found in trials with a coil's dead time over 8 to 16
// V, an orifice's flow over 200 to 600 kPa and a short-pulse bend.
func TestChosenBeatsEven(t *testing.T) {
	curves := []struct {
		name   string
		lo, hi float64
		f      func(float64) float64
		weight func(float64) float64
		sizes  []int
		factor float64
	}{
		{"dead time over voltage", 8, 16, func(v float64) float64 { return 0.15 - 1.7*math.Log(1-5.8*1.08/v) }, nil, []int{9}, 4},
		{"flow over pressure", 100, 600, func(p float64) float64 { return math.Sqrt(p / 300) }, func(p float64) float64 { return 1 / math.Sqrt(p/300) }, []int{4, 5, 6}, 1.6},
		{"short-pulse correction", 0.3, 12, func(u float64) float64 { return 0.25 * math.Exp(-u/0.35) }, func(u float64) float64 { return 1 / u }, []int{8}, 10},
	}
	for _, c := range curves {
		sample := func(at []float64) ([][]float64, []float64) {
			f, w := make([]float64, len(at)), make([]float64, len(at))
			for i, x := range at {
				f[i], w[i] = c.f(x), 1
				if c.weight != nil {
					w[i] = c.weight(x)
				}
			}
			return [][]float64{f}, w
		}
		for _, k := range c.sizes {
			b := &builder{}
			b.choose(AxisSpec{Count: k}, need{table: c.name, lo: c.lo, hi: c.hi, step: (c.hi - c.lo) / 400, end: 0.001}, sample)
			g := b.gains[0]
			t.Logf("%-24s %d breakpoints: chosen miss %.5f, even %.5f, factor %.1f", c.name, k, g.ChosenMiss, g.EvenMiss, g.EvenMiss/g.ChosenMiss)
			if g.EvenMiss < c.factor*g.ChosenMiss {
				t.Errorf("%s, %d breakpoints: only %.2f times better than even, want %.1f", c.name, k, g.EvenMiss/g.ChosenMiss, c.factor)
			}
		}
	}
}

func TestAxisSpecRefuses(t *testing.T) {
	for want, a := range map[string]AxisSpec{
		"beyond what is physical":  {Values: []float64{8, 900}},
		"from small to large":      {Values: []float64{12, 8}},
		"there twice":              {Values: []float64{8, 8}},
		"can't be used: give 2 to": {Count: 1},
		"a count of -3":            {Count: -3},
	} {
		if err := a.Check("--voltage-axis", 4, 60); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%+v: %v, want a sentence with %q", a, err, want)
		}
	}
	if err := (AxisSpec{Values: []float64{8, 12, 16}}).Check("x", 4, 60); err != nil {
		t.Error(err)
	}
}

// TestTiesAreNotBrokenByRounding: of choices that are as even, the same is made
// whether the steps of the axis are exact in binary or not.
func TestTiesAreNotBrokenByRounding(t *testing.T) {
	for n := 7; n < 40; n++ {
		for k := 3; k < 7; k++ {
			var whole []int
			for _, step := range []float64{1, 0.05, 0.1, 0.3, 1e-3} {
				at, flat := make([]float64, n), make([]float64, n)
				for i := range at {
					at[i] = 8 + step*float64(i)
				}
				picked, _ := Breakpoints(at, [][]float64{flat}, nil, k, 1e-6)
				if whole == nil {
					whole = picked
				}
				if !slices.Equal(picked, whole) {
					t.Fatalf("%d of %d candidates by %v: %v, by 1: %v", k, n, step, picked, whole)
				}
			}
		}
	}
}

package tables

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// An AxisSpec says what breakpoints a table shall have: given values, or a count
// for which the best are chosen. The zero value leaves it to the program.
type AxisSpec struct {
	Values []float64 // rising, in the axis' unit
	Count  int
	Round  float64 // chosen breakpoints are multiples of this; 0: of the axis' own step
}

// A span is what is physical on an axis.
type span struct{ least, most float64 }

var (
	pressureSpan = span{10, 2000}  // kPa
	voltageSpan  = span{4, 60}     // V
	pulseSpan    = span{0.01, 200} // ms
)

// Check refuses axes that no ECU could hold. The sentences name the axis.
func (a AxisSpec) Check(name string, least, most float64) error {
	for i, x := range a.Values {
		switch {
		case math.IsNaN(x) || x < least || x > most:
			return fmt.Errorf("%s: %s is beyond what is physical for an injector: use %s to %s", name, number(x), number(least), number(most))
		case i > 0 && x < a.Values[i-1]:
			return fmt.Errorf("%s: %s follows %s: write the values from small to large", name, number(x), number(a.Values[i-1]))
		case i > 0 && x <= a.Values[i-1]:
			return fmt.Errorf("%s: %s is there twice: write every value once", name, number(x))
		}
	}
	if a.Values == nil && (a.Count < 0 || a.Count == 1 || a.Count > mostBreakpoints) {
		return fmt.Errorf("%s: a count of %d breakpoints can't be used: give 2 to %d, or the values themselves with their unit", name, a.Count, mostBreakpoints)
	}
	return nil
}

const mostBreakpoints = 64

// Range gives the values from one end to the other by a step; both ends are there
// where the step meets the last.
func Range[Q ~float64](from, to, step Q) ([]Q, error) {
	n := float64((to - from) / step)
	if !(step > 0) || !(n >= 1) || n > mostBreakpoints {
		return nil, fmt.Errorf("a range from %v to %v by %v gives no axis: write the smaller end first and a step that gives 2 to %d values", float64(from), float64(to), float64(step), mostBreakpoints)
	}
	var out []Q
	for i := range int(math.Floor(n+1e-9)) + 1 {
		out = append(out, from+Q(i)*step)
	}
	return out, nil
}

// A need is an axis to be filled: which it is, where its breakpoints may lie, and how
// many are chosen where neither values nor a count are given.
type need struct {
	table, axis, unit string  // unit of the miss
	lo, hi            float64 // ends
	step, end         float64 // chosen breakpoints are multiples of step, ends of end
	want              int
}

// A sampled function gives the rows of functions at given places, and the weight
// of a miss at each (nil: even).
type sampled func(at []float64) (rows [][]float64, weights []float64)

// ends are the first and the last breakpoint to choose: on the grid asked for, so that
// they hold all that was measured, else next to what was measured.
func (a AxisSpec) ends(n need) (lo, hi float64) {
	near := func(x, step float64, to func(float64) float64) float64 { return round(to(round(x/step, 6))*step, 6) }
	if a.Round <= 0 {
		return near(n.lo, n.end, math.Round), near(n.hi, n.end, math.Round)
	}
	lo, hi = near(n.lo, a.Round, math.Floor), near(n.hi, a.Round, math.Ceil)
	if lo <= 0 {
		lo = a.Round
	}
	return lo, math.Max(lo, hi)
}

// candidates are the breakpoints to choose from: multiples of the step between the
// ends, and both ends.
func (a AxisSpec) candidates(n need) []float64 {
	lo, hi := a.ends(n)
	step := n.step
	if a.Round > 0 {
		step = a.Round
	}
	out := []float64{lo}
	for k := math.Ceil(lo / step); k*step < hi; k++ {
		if x := round(k*step, 6); x-lo > step/4 && hi-x > step/4 {
			out = append(out, x)
		}
	}
	if hi > lo {
		out = append(out, hi)
	}
	return thin(out)
}

// mostCandidates bounds the search for breakpoints, whose work grows with the cube.
const mostCandidates = 120

// thin keeps candidates that are spread evenly in ratio, where there are too many:
// curves bend most where values are small.
func thin(at []float64) []float64 {
	if len(at) <= mostCandidates {
		return at
	}
	lo, hi := at[0], at[len(at)-1]
	var out []float64
	for i := range mostCandidates {
		want := lo * math.Pow(hi/lo, float64(i)/(mostCandidates-1))
		k, _ := slices.BinarySearch(at, want-1e-9)
		if x := at[min(k, len(at)-1)]; len(out) == 0 || x > out[len(out)-1] {
			out = append(out, x)
		}
	}
	return out
}

// choose gives the breakpoints of an axis for functions that are looked up in it:
// those asked for, or those between which straight lines miss least.
func (a AxisSpec) choose(n need, f sampled) []float64 {
	if a.Values != nil {
		return a.Values
	}
	if a.Count > 0 {
		n.want = a.Count
	}
	at := a.candidates(n)
	if len(at) <= 2 {
		return at
	}
	rows, weights := f(at)
	picked, _ := Breakpoints(at, rows, weights, n.want, negligible[n.unit])
	out := make([]float64, len(picked))
	for i, k := range picked {
		out[i] = at[k]
	}
	return out
}

// fewestDigits is how many digits after the point write all values as so many do.
func fewestDigits(xs []float64, most int) (digits int) {
	for _, x := range xs {
		text := strings.TrimRight(strconv.FormatFloat(x, 'f', most, 64), "0")
		if _, after, ok := strings.Cut(text, "."); ok && most > 0 {
			digits = max(digits, len(after))
		}
	}
	return digits
}

// number writes a breakpoint as short as it can be read back exactly to 6 digits
// behind the point.
func number(x float64) string {
	if math.Abs(x) > 1e15 { // it has no digits behind the point, and the product could overflow
		return strconv.FormatFloat(x, 'g', -1, 64)
	}
	return strconv.FormatFloat(math.Round(x*1e6)/1e6, 'f', -1, 64)
}

func indexNear(xs []float64, x float64) int {
	return slices.IndexFunc(xs, func(y float64) bool { return math.Abs(x-y) < 1e-9 })
}

package fit

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/stat/distuv"

	"injtab/fit/bench"
	"injtab/fit/diag"
)

// A trait is a property of a reading by which residuals may follow a pattern.
type trait struct {
	name string
	unit string
	of   func(bench.Reading) value
}

// A value of a trait is a number or a text; without either the reading has none.
type value struct {
	number float64
	text   string
}

func (v value) String() string {
	if v.text != "" {
		return v.text
	}
	return trimmed(v.number)
}

func trimmed(x float64) string { return strconv.FormatFloat(tenThousandths(x), 'f', -1, 64) }

func tenThousandths(x float64) float64 { return math.Round(x*1e4) / 1e4 }

var traits = []trait{
	{"at pulse", " ms", func(r bench.Reading) value { return value{number: tenThousandths(r.Pulse.Ms())} }},
	{"at pressure", " kPa", func(r bench.Reading) value { return value{number: math.Round(r.Pressure.KPa())} }},
	{"at voltage", " V", func(r bench.Reading) value { return value{number: math.Round(r.Voltage.V()*10) / 10} }},
	{"in run", "", func(r bench.Reading) value { return value{text: r.Run} }},
	{"in slot", "", func(r bench.Reading) value { return value{text: r.Slot} }},
	{"in vessel", "", func(r bench.Reading) value { return value{text: r.Vessel} }},
}

// A pattern is a group of readings that are all high or all low.
type pattern struct {
	trait int // which of traits
	value value
	p     float64 // probability of as much by chance
	pct   float64
}

// patterns tests, for every trait, whether the mean residual of the readings that
// share a value of it differs from zero (a t-test on standardised residuals, with
// Holm's correction over all tests), and says so where it is at least patternPct.
func (m *Model) patterns(rs []Residual) []diag.Note {
	found, tests := m.unlikely(rs)
	var out []diag.Note
	for i, f := range found {
		// Holm (Scandinavian Journal of Statistics 6, 1979; from memory).
		if f.p*float64(tests-i) > patternLevel {
			break
		}
		if math.Abs(f.pct) < patternPct {
			continue
		}
		out = append(out, diag.Warn("pattern", "readings %s %s%s are %.1f %% %s what the model gives (p = %.2g)",
			traits[f.trait].name, f.value, traits[f.trait].unit, math.Abs(f.pct), side(f.pct), f.p))
		if len(out) == mostPatterns {
			break
		}
	}
	return out
}

const (
	patternLevel    = 0.01
	patternPct      = 0.5
	mostPatterns    = 6
	fewestOfPattern = 4 // readings
)

// unlikely are the patterns that would be rare by chance, the rarest first, of so many
// that were tested.
func (m *Model) unlikely(rs []Residual) (found []pattern, tests int) {
	readings := m.Checked.Readings()
	by := make([]sorted, len(traits))
	for i, r := range rs {
		if r.Weight < Doubt {
			continue
		}
		reading := readings.At(r.Reading)
		for k, tr := range traits {
			if v := tr.of(reading); v != (value{}) {
				by[k].add(v, i)
			}
		}
	}
	for k := range by {
		if len(by[k].places) < 2 {
			continue
		}
		for v, which := range by[k].places {
			if len(*which) < fewestOfPattern {
				continue
			}
			tests++
			if p, pct := meanTest(rs, *which); p < 1 {
				found = append(found, pattern{k, v, p, pct})
			}
		}
	}
	slices.SortFunc(found, func(a, b pattern) int {
		return cmp.Or(cmp.Compare(a.p, b.p), cmp.Compare(a.trait, b.trait), bench.CompareNatural(a.value.String(), b.value.String()))
	})
	return found, tests
}

// A sorted holds where residuals are found, by the value of a trait. One reading after
// another often has the same, so that the last is kept at hand.
type sorted struct {
	places map[value]*[]int32
	value  value
	last   *[]int32 // of value
}

func (s *sorted) add(v value, i int) {
	if s.last == nil || v != s.value {
		s.find(v)
	}
	*s.last = append(*s.last, int32(i))
}

func (s *sorted) find(v value) {
	if s.places == nil {
		s.places = map[value]*[]int32{}
	}
	s.value, s.last = v, s.places[v]
	if s.last == nil {
		s.last = new([]int32)
		s.places[v] = s.last
	}
}

func side(pct float64) string {
	if pct > 0 {
		return "above"
	}
	return "below"
}

// meanTest is the two-sided p-value of a mean standardised residual of zero, and
// the mean residual in per cent, of the residuals at some places. p is 1 where it is not
// worth working out.
func meanTest(rs []Residual, which []int32) (p, pct float64) {
	n := float64(len(which))
	var mean, square float64
	for _, i := range which {
		mean += rs[i].Z / n
		pct += rs[i].Pct / n
	}
	for _, i := range which {
		square += (rs[i].Z - mean) * (rs[i].Z - mean) / (n - 1)
	}
	// A group that happens to scatter little is not trusted more than its readings.
	t := math.Abs(mean) / math.Sqrt(math.Max(square, 0.5)/n)
	if t < likely {
		return 1, pct
	}
	return 2 * distuv.StudentsT{Sigma: 1, Nu: n - 1}.Survival(t), pct
}

// likely is a t that is no pattern at any number of readings: p is 0.045 or more. Most
// groups are such, and Student's distribution takes longest.
const likely = 2

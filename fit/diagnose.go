package fit

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"injtab/fit/bench"
	"injtab/fit/diag"
	"injtab/fit/internal/lsq"
)

// A Residual is one reading against the model.
type Residual struct {
	Reading  int // index in the sheet
	Injector string
	Fitted   float64 // ml per shot
	Pct      float64 // read minus fitted, in per cent of fitted
	Z        float64 // the same in standard uncertainties of the reading
	Weight   float64 // 0..1, how far the fit believed it
	Open     float64 // ms, open time
}

// Residuals lists every reading that the fit used, in the order of the file.
func (m *Model) Residuals() []Residual {
	var out []Residual
	readings := m.Checked.Readings()
	for g, group := range m.sol.data.groups {
		for i, x := range group {
			shot := m.shots[g][i]
			if shot.q <= 0 {
				continue
			}
			read := readings.At(x.reading).PerShot().Ml() * microlitres
			miss := x.q/shot.q - 1
			out = append(out, Residual{
				Reading: x.reading, Injector: m.Members[g].ID, Fitted: shot.q / microlitres,
				Pct: 100 * (read/shot.q - 1), Z: miss / math.Hypot(x.sd/shot.q, m.Noise.relative(shot.w)),
				Weight: m.sol.weights[g][i], Open: shot.w,
			})
		}
	}
	slices.SortFunc(out, func(a, b Residual) int { return a.Reading - b.Reading })
	return out
}

// Doubt is the weight below which the fit did not believe a reading.
const Doubt = 0.1

// diagnose fills the notes: readings that were not believed, patterns left in the
// residuals, and what the session could not tell.
func (m *Model) diagnose() {
	rs := m.Residuals()
	m.Notes = append(m.Notes, m.doubted(rs)...)
	m.Notes = append(m.Notes, m.patterns(rs)...)
	m.Notes = append(m.Notes, m.notClosed()...)
	m.Notes = append(m.Notes, m.influential()...)
	m.Notes = append(m.Notes, m.untold()...)
}

// doubted names the readings that were not believed and what would have fitted;
// only where the miss is also large beside the scale that was read.
func (m *Model) doubted(rs []Residual) []diag.Note {
	var out []diag.Note
	sheet := m.Checked.Sheet()
	for _, r := range rs {
		x := sheet.Readings.At(r.Reading)
		steps := math.Abs(x.Volume.Ml()-r.Fitted*x.Shots) / (math.Sqrt(12) * m.Checked.Weight(r.Reading).Division.Ml())
		if r.Weight >= Doubt || math.Abs(r.Pct) < 3 || steps < 3 {
			continue
		}
		n := diag.Warn("does_not_fit", "injector %s delivered %.4g ml in this reading; %.4g ml would fit its other readings (%+.1f %%): read it again, it was left out",
			x.Injector, x.Volume.Ml(), r.Fitted*x.Shots, r.Pct)
		n.Place = sheet.At(x)
		out = append(out, n)
	}
	return out
}

// A trait is a property of a reading by which residuals may follow a pattern.
type trait struct {
	name string
	unit string
	of   func(bench.Reading) string
}

func trimmed(x float64) string { return strconv.FormatFloat(math.Round(x*1e4)/1e4, 'f', -1, 64) }

var traits = []trait{
	{"at pulse", " ms", func(r bench.Reading) string { return trimmed(r.Pulse.Ms()) }},
	{"at pressure", " kPa", func(r bench.Reading) string { return trimmed(math.Round(r.Pressure.KPa())) }},
	{"at voltage", " V", func(r bench.Reading) string { return trimmed(math.Round(r.Voltage.V()*10) / 10) }},
	{"in run", "", func(r bench.Reading) string { return r.Run }},
	{"in slot", "", func(r bench.Reading) string { return r.Slot }},
	{"in vessel", "", func(r bench.Reading) string { return r.Vessel }},
}

// A pattern is a group of readings that are all high or all low.
type pattern struct {
	text string
	p    float64 // probability of as much by chance
	pct  float64
}

// patterns tests, for every trait, whether the mean residual of the readings that
// share a value of it differs from zero (a t-test on standardised residuals, with
// Holm's correction over all tests), and says so where it is at least 0.3 %.
func (m *Model) patterns(rs []Residual) []diag.Note {
	readings := m.Checked.Readings()
	var found []pattern
	for _, tr := range traits {
		by := map[string][]Residual{}
		for _, r := range rs {
			if name := tr.of(readings.At(r.Reading)); name != "" && r.Weight >= Doubt {
				by[name] = append(by[name], r)
			}
		}
		if len(by) < 2 {
			continue
		}
		names := make([]string, 0, len(by))
		for name := range by {
			names = append(names, name)
		}
		slices.SortFunc(names, bench.CompareNatural)
		for _, name := range names {
			if p, pct, ok := meanTest(by[name]); ok {
				found = append(found, pattern{fmt.Sprintf("%s %s%s", tr.name, name, tr.unit), p, pct})
			}
		}
	}
	slices.SortStableFunc(found, func(a, b pattern) int { return cmp.Compare(a.p, b.p) })
	var out []diag.Note
	for i, f := range found {
		// Holm (Scandinavian Journal of Statistics 6, 1979; from memory).
		if f.p*float64(len(found)-i) > patternLevel {
			break
		}
		if math.Abs(f.pct) < patternPct {
			continue
		}
		out = append(out, diag.Warn("pattern", "readings %s are %.1f %% %s what the model gives (p = %.2g)", f.text, math.Abs(f.pct), side(f.pct), f.p))
		if len(out) == mostPatterns {
			break
		}
	}
	return out
}

const (
	patternLevel = 0.01
	patternPct   = 0.5
	mostPatterns = 6
)

func side(pct float64) string {
	if pct > 0 {
		return "above"
	}
	return "below"
}

// meanTest is the two-sided p-value of a mean standardised residual of zero, and
// the mean residual in per cent.
func meanTest(rs []Residual) (p, pct float64, ok bool) {
	n := float64(len(rs))
	if n < 4 {
		return 0, 0, false
	}
	var mean, square float64
	for _, r := range rs {
		mean += r.Z / n
		pct += r.Pct / n
	}
	for _, r := range rs {
		square += (r.Z - mean) * (r.Z - mean) / (n - 1)
	}
	// A group that happens to scatter little is not trusted more than its readings.
	t := mean / math.Sqrt(math.Max(square, 0.5)/n)
	return 2 * distuv.StudentsT{Sigma: 1, Nu: n - 1}.Survival(math.Abs(t)), pct, true
}

// notClosed names readings whose off-time was too short to close.
func (m *Model) notClosed() []diag.Note {
	var out []diag.Note
	for g := range m.Members {
		if _, fails := m.Closing(g); fails > 0 {
			out = append(out, diag.Warn("not_closed", "injector %s no longer closes with %s ms between pulses; those readings are not part of the line", m.Members[g].ID, trimmed(fails)))
		}
	}
	return out
}

// influential names single readings that carry a result: without one of them it
// would move by more than its own uncertainty (Cook's distance; Cook, Technometrics
// 19, 1977, from memory).
func (m *Model) influential() []diag.Note {
	var first bench.Reading
	var carried []string
	sheet := m.Checked.Sheet()
	for g, group := range m.sol.data.groups {
		if worst, d := m.mostInfluential(g); d > carries && len(group) > 2 {
			r := sheet.Readings.At(group[worst].reading)
			if len(carried) == 0 {
				first = r
			}
			carried = append(carried, fmt.Sprintf("%s (%s ms, line %d)", r.Injector, trimmed(r.Pulse.Ms()), r.Line))
		}
	}
	switch len(carried) {
	case 0:
		return nil
	case 1:
		n := diag.Warn("influential", "the result for injector %s rests on this one reading: repeat it", first.Injector)
		n.Place = sheet.At(first)
		return []diag.Note{n}
	}
	return []diag.Note{diag.Warn("influential", "the results of %d injectors rest on one reading each: repeat those of %s", len(carried), strings.Join(carried, ", "))}
}

// carries is the Cook's distance from which a reading carries a result.
const carries = 2

// mostInfluential is the reading of member g with the largest Cook's distance.
func (m *Model) mostInfluential(g int) (worst int, distance float64) {
	grad, scratch := make([]float64, locals+m.sol.shared()), make([]float64, locals+m.sol.shared())
	for i, x := range m.sol.data.groups[g] {
		w := m.sol.weights[g][i]
		if w < Doubt {
			continue
		}
		shot := m.sol.deliver(m.sol.Local[g], m.sol.Shared, x.c, grad, scratch)
		sd := math.Hypot(x.sd, m.Noise.relative(shot.w)*shot.q)
		lever := w * m.sol.Variance(grad[locals:], lsq.Locals{Groups: []int{g}, Slopes: grad[:locals]}) / (sd * sd)
		if lever >= 1-1e-9 {
			continue
		}
		z := (x.q - shot.q) / sd
		// Two parameters are an injector's own: flow and dead time.
		if d := w * z * z * lever / ((1 - lever) * (1 - lever)) / 2; d > distance {
			worst, distance = i, d
		}
	}
	return worst, distance
}

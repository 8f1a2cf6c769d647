package fit

import (
	"fmt"
	"math"
	"strings"

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
	readings := m.Checked.Readings()
	order, n := m.order(readings.Len())
	out := make([]Residual, n)
	for g, group := range m.sol.data.groups {
		for i, x := range group {
			shot := m.shots[g][i]
			if shot.q <= 0 {
				continue
			}
			read := readings.Dose(x.reading).PerShot().Ml() * microlitres
			miss := x.q/shot.q - 1
			out[order[x.reading]-1] = Residual{
				Reading: x.reading, Injector: m.Members[g].ID, Fitted: shot.q / microlitres,
				Pct: 100 * (read/shot.q - 1), Z: miss / math.Hypot(x.sd/shot.q, m.Noise.relative(shot.w)),
				Weight: m.sol.weights[g][i], Open: shot.w,
			}
		}
	}
	return out
}

// order gives each of the sheet's readings that has a residual its number among them, from
// one, and how many they are. It takes an eighth of the time of sorting those of an archive.
func (m *Model) order(readings int) (number []int32, n int32) {
	number = make([]int32, readings)
	for g, group := range m.sol.data.groups {
		for i := range group {
			if m.shots[g][i].q > 0 {
				number[group[i].reading] = 1
			}
		}
	}
	for i, has := range number {
		n += has
		number[i] = n
	}
	return number, n
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
		if r.Weight >= Doubt || math.Abs(r.Pct) < 3 {
			continue
		}
		x := sheet.Readings.At(r.Reading)
		steps := math.Abs(x.Volume.Ml()-r.Fitted*x.Shots) / (math.Sqrt(12) * m.Checked.Weight(r.Reading).Division.Ml())
		if steps < 3 {
			continue
		}
		n := diag.Warn("does_not_fit", "injector %s delivered %.4g ml in this reading; %.4g ml would fit its other readings (%+.1f %%): read it again, it was left out",
			x.Injector, x.Volume.Ml(), r.Fitted*x.Shots, r.Pct)
		n.Place = sheet.At(x)
		out = append(out, n)
	}
	return out
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
	worst, distance := make([]int, len(m.Members)), make([]float64, len(m.Members))
	share(len(m.Members), func(g int) { worst[g], distance[g] = m.mostInfluential(g) })
	for g, group := range m.sol.data.groups {
		if distance[g] > carries && len(group) > 2 {
			r := sheet.Readings.At(group[worst[g]].reading)
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
	own, at := lsq.Locals{Groups: []int{g}, Slopes: grad[:locals]}, setting{grad: scratch, fade: m.fade}
	for i, x := range m.sol.data.groups[g] {
		w := m.sol.weights[g][i]
		if w < Doubt {
			continue
		}
		here := m.sol.spot(x.c.place)
		m.sol.set(&at, &m.bounds[g], m.sol.Local[g], m.sol.Shared, &here)
		shot := m.sol.shoot(m.sol.Shared, &at, &x.c, grad)
		sd := math.Hypot(x.sd, m.Noise.relative(shot.w)*shot.q)
		lever := w * m.sol.Variance(grad[locals:], own) / (sd * sd)
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

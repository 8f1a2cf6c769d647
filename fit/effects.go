package fit

import (
	"math"
	"slices"

	"injtab/fit/bench"
	"injtab/fit/internal/lsq"
)

// An Effect is what all readings of one run or one slot have in common: they are
// Pct per cent high or low, beyond what their injectors explain.
type Effect struct {
	Kind    string // "run" or "slot"
	Name    string
	Pct     float64
	UPct    float64 // standard uncertainty
	Removed bool    // the fit took it out of the readings
	N       int
}

// group names the run or slot of a reading.
type grouping struct {
	kind string
	of   func(bench.Reading) string
}

var groupings = []grouping{
	{"run", func(r bench.Reading) string { return r.Run }},
	{"slot", func(r bench.Reading) string { return r.Slot }},
}

// identifiable tells whether a grouping can be told from the injectors: at least
// two groups hold several injectors each, and injectors are seen in several
// groups. A slot in which only one injector ever sat can't be told from it.
func (d dataset) identifiable(gr grouping) bool {
	if d.joined {
		return false
	}
	members, seen := map[string]map[int]bool{}, map[int]map[string]bool{}
	readings := d.checked.Readings()
	for g, x := range d.all {
		name := gr.of(readings.At(x.reading))
		if name == "" {
			return false
		}
		if members[name] == nil {
			members[name] = map[int]bool{}
		}
		if seen[g] == nil {
			seen[g] = map[string]bool{}
		}
		members[name][g], seen[g][name] = true, true
	}
	shared, moved := 0, 0
	for _, m := range members {
		if len(m) > 1 {
			shared++
		}
	}
	for _, s := range seen {
		if len(s) > 1 {
			moved++
		}
	}
	return shared > 1 && 2*moved > len(d.groups)
}

// effects estimates the groups of one kind from the residuals: each is the
// weighted mean of its readings' relative misses, shrunk by how much groups of
// this kind really differ (best linear unbiased prediction of a random effect,
// with the between-groups variance by the method of moments). A group is judged
// against its own median, so that the fit's doubts about all of it do not hide it.
func (s solution) effects(gr grouping) []Effect {
	groups := s.misses(gr)
	names := make([]string, 0, len(groups))
	for name := range groups {
		names = append(names, name)
	}
	slices.SortFunc(names, bench.CompareNatural)
	out := make([]Effect, len(names))
	between := 0.0
	for i, name := range names {
		m, u, n := agreed(groups[name])
		out[i] = Effect{Kind: gr.kind, Name: name, Pct: 100 * m, UPct: 100 * u, N: n}
		between += (m*m - u*u) / float64(len(names))
	}
	between = 1e4 * math.Max(between, 0)
	for i, e := range out {
		shrink := between / (between + e.UPct*e.UPct)
		out[i].Pct, out[i].UPct = e.Pct*shrink, e.UPct*math.Sqrt(shrink)
	}
	return out
}

// misses are the relative residuals, by group, of readings long enough not to rest
// on the form of the bend.
func (s solution) misses(gr grouping) map[string][]residual {
	out := map[string][]residual{}
	readings := s.data.checked.Readings()
	for g, x := range s.data.all {
		shot := s.deliver(s.Local[g], s.Shared, x.c, nil, nil)
		if shot.q <= 0 || (!x.c.static && shot.w < shortOpen) {
			continue
		}
		name := gr.of(readings.At(x.reading))
		out[name] = append(out[name], residual{miss: x.q/shot.q - 1, w: shot.w,
			sd: math.Hypot(x.sd/shot.q, s.noise.relative(shot.w))})
	}
	return out
}

// agreed is the weighted mean of the misses within four standard uncertainties of
// their median, with its standard uncertainty and how many they are.
func agreed(rs []residual) (mean, u float64, n int) {
	all := make([]float64, len(rs))
	for i, r := range rs {
		all[i] = r.miss
	}
	middle := median(all)
	var w, wm float64
	for _, r := range rs {
		if math.Abs(r.miss-middle) <= 4*r.sd {
			w, wm, n = w+1/(r.sd*r.sd), wm+r.miss/(r.sd*r.sd), n+1
		}
	}
	if n == 0 {
		return 0, 1, 0
	}
	return wm / w, 1 / math.Sqrt(w), n
}

// removeEffects takes the identifiable effects of runs and slots out of the
// readings, and gives the readings so corrected with what was taken out.
func (s solution) removeEffects() (dataset, []Effect) {
	d := s.data
	told := slices.DeleteFunc(slices.Clone(groupings), func(gr grouping) bool { return !d.identifiable(gr) })
	if len(told) == 0 {
		return d, nil
	}
	var all []Effect
	readings := d.checked.Readings()
	d.groups = make([][]datum, len(s.data.groups))
	for g := range d.groups {
		d.groups[g] = slices.Clone(s.data.groups[g])
	}
	for _, gr := range told {
		by := map[string]float64{}
		for _, e := range s.effects(gr) {
			e.Removed = true
			all = append(all, e)
			by[e.Name] = e.Pct / 100
		}
		for _, group := range d.groups {
			for i := range group {
				group[i].q /= 1 + by[gr.of(readings.At(group[i].reading))]
			}
		}
	}
	return d, all
}

// withoutEffects refits with the effects of runs and slots taken out of the
// readings, until what is taken out has settled. The first correction holds most
// of it; the second sees what the injectors' own flows had soaked up.
func (s solution) withoutEffects() (solution, []Effect, error) {
	var effects []Effect
	raw := s.data
	for range effectRounds {
		s.data = raw
		d, found := s.removeEffects()
		if len(found) == 0 {
			return s, nil, nil
		}
		effects = found
		next, err := solve(s.family, d, lsq.Start{Shared: s.Shared, Local: s.Local}, s.noise, 1, true, searchOptions)
		if err != nil {
			return s, nil, err
		}
		s = next
	}
	return s, effects, nil
}

const effectRounds = 2

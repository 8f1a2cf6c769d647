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
	members, seen := map[string]map[int]bool{}, map[int]map[string]bool{}
	readings := d.checked.Readings()
	for g, x := range d.all {
		name := gr.of(readings[x.reading])
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
// with the between-groups variance by the method of moments).
func (s solution) effects(gr grouping) []Effect {
	type sum struct {
		w, wm float64
		n     int
	}
	sums := map[string]*sum{}
	readings := s.data.checked.Readings()
	for g, group := range s.data.groups {
		for i, x := range group {
			out := s.deliver(s.Local[g], s.Shared, x.c, nil, nil)
			if s.weights[g][i] < 0.3 || out.q <= 0 || (!x.c.static && out.w < shortOpen) {
				continue
			}
			sd := math.Hypot(x.sd/out.q, s.noise.relative(out.w))
			name := gr.of(readings[x.reading])
			if sums[name] == nil {
				sums[name] = &sum{}
			}
			w := 1 / (sd * sd)
			sums[name].w += w
			sums[name].wm += w * (x.q/out.q - 1)
			sums[name].n++
		}
	}
	names := make([]string, 0, len(sums))
	for name := range sums {
		names = append(names, name)
	}
	slices.SortFunc(names, bench.CompareNatural)
	between := 0.0
	for _, name := range names {
		m := sums[name].wm / sums[name].w
		between += (m*m - 1/sums[name].w) / float64(len(names))
	}
	between = math.Max(between, 0)
	var out []Effect
	for _, name := range names {
		x := sums[name]
		shrink := between / (between + 1/x.w)
		out = append(out, Effect{Kind: gr.kind, Name: name, Pct: 100 * shrink * x.wm / x.w,
			UPct: 100 * math.Sqrt(shrink/x.w), N: x.n})
	}
	return out
}

// removeEffects takes the identifiable effects of runs and slots out of the
// readings, and gives the readings so corrected with what was taken out.
func (s solution) removeEffects() (dataset, []Effect) {
	d := s.data
	var all []Effect
	readings := d.checked.Readings()
	d.groups = make([][]datum, len(s.data.groups))
	for g := range d.groups {
		d.groups[g] = slices.Clone(s.data.groups[g])
	}
	for _, gr := range groupings {
		if !s.data.identifiable(gr) {
			continue
		}
		by := map[string]float64{}
		for _, e := range s.effects(gr) {
			e.Removed = true
			all = append(all, e)
			by[e.Name] = e.Pct / 100
		}
		for _, group := range d.groups {
			for i := range group {
				group[i].q /= 1 + by[gr.of(readings[group[i].reading])]
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
		next, err := solve(s.family, d, lsq.Start{Shared: s.Shared, Local: s.Local}, s.noise, 1)
		if err != nil {
			return s, nil, err
		}
		s = next
	}
	return s, effects, nil
}

const effectRounds = 3

package plan

import "gonum.org/v1/gonum/mat"

// separates says whether the pulsed runs tell injectors, slots and runs apart: with an
// effect of each of them free, differences between injectors must still be
// determined. That is so when the columns of the injectors add as much rank to those
// of runs and slots as there are injectors, less the one that all have in common.
func separates(turns []turn) bool {
	ids, slots := map[string]int{}, 0
	var runs, rows int
	for _, t := range turns {
		if t.kind == leak || t.kind == opening {
			continue
		}
		runs++
		slots = max(slots, len(t.seats))
		for _, id := range t.seats.ids() {
			if _, ok := ids[id]; !ok {
				ids[id] = len(ids)
			}
			rows++
		}
	}
	if len(ids) < 2 {
		return true
	}
	nuisance, all := mat.NewDense(rows, runs+slots, nil), mat.NewDense(rows, runs+slots+len(ids), nil)
	row, run := 0, 0
	for _, t := range turns {
		if t.kind == leak || t.kind == opening {
			continue
		}
		for slot, id := range t.seats {
			if id == "" {
				continue
			}
			for _, m := range []*mat.Dense{nuisance, all} {
				m.Set(row, run, 1)
				m.Set(row, runs+slot, 1)
			}
			all.Set(row, runs+slots+ids[id], 1)
			row++
		}
		run++
	}
	return rank(all)-rank(nuisance) == len(ids)-1
}

func rank(m *mat.Dense) int {
	var svd mat.SVD
	if !svd.Factorize(m, mat.SVDNone) {
		return 0
	}
	return svd.Rank(1e-9)
}

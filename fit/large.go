package fit

import (
	"cmp"
	"math"
	"slices"
)

// A workshop's archive holds far more readings than shapes need. Above manyReadings
// repeats of a condition are joined before the fit, and the forms compete on a part
// of the injectors; every injector is then fitted with the winner.
const (
	manyReadings = 20000
	shapeFamily  = 48
)

// joinRepeats joins the readings that an injector took at one and the same
// condition into their mean: of those within four scaled median deviations of the
// median, so that a gross one does not carry it. Each joined reading stands for the
// first of its repeats.
func (d *dataset) joinRepeats() {
	if d.count() <= manyReadings {
		return
	}
	for g, group := range d.groups {
		at := make(map[condition]int, 64)
		var cells [][]datum
		for _, x := range group {
			k, ok := at[x.c]
			if !ok {
				k = len(cells)
				at[x.c] = k
				cells = append(cells, nil)
			}
			cells[k] = append(cells[k], x)
		}
		if len(cells) == len(group) {
			continue
		}
		d.joined = true
		d.groups[g] = make([]datum, len(cells))
		for k, cell := range cells {
			d.groups[g][k] = joined(cell)
		}
	}
}

func joined(cell []datum) datum {
	out := cell[0]
	if len(cell) == 1 {
		return out
	}
	q := make([]float64, len(cell))
	for i, x := range cell {
		q[i] = x.q
	}
	middle := median(q)
	off := make([]float64, len(cell))
	for i, v := range q {
		off[i] = math.Abs(v - middle)
	}
	reach := 4 * math.Max(1.4826*median(off), out.sd)
	var sum, variance, n float64
	for _, x := range cell {
		if math.Abs(x.q-middle) <= reach {
			sum, variance, n = sum+x.q, variance+x.sd*x.sd, n+1
		}
	}
	out.q, out.sd = sum/n, math.Sqrt(variance)/n
	return out
}

// forShapes is the part of the injectors on which the forms compete: those with the
// most readings, spread over the rest of the order where many have as many.
func (d dataset) forShapes() (part dataset, members []int) {
	if len(d.groups) <= shapeFamily || d.count() <= manyReadings {
		return d, nil
	}
	members = make([]int, len(d.groups))
	for g := range members {
		members[g] = g
	}
	// A fixed shuffle, so that ties are not all from one end of the shelf.
	mixed := func(g int) int { return g * 7919 % 104729 }
	slices.SortFunc(members, func(a, b int) int {
		return cmp.Or(cmp.Compare(len(d.groups[b]), len(d.groups[a])), cmp.Compare(mixed(a), mixed(b)), cmp.Compare(a, b))
	})
	members = slices.Clone(members[:shapeFamily])
	slices.Sort(members)
	part = dataset{checked: d.checked}
	for _, g := range members {
		part.ids = append(part.ids, d.ids[g])
		part.groups = append(part.groups, d.groups[g])
		part.closing = append(part.closing, d.closing[g])
		part.silent = append(part.silent, d.silent[g])
		part.brief = append(part.brief, d.brief[g])
	}
	return part, members
}

package fit

import (
	"cmp"
	"math"
	"slices"

	"injtab/fit/bench"
	"injtab/fit/internal/lsq"
)

// A workshop's archive holds far more readings than shapes need. Above manyReadings
// repeats are joined before the fit, so that memory and time go by the conditions of each
// injector, and the forms compete on a part of the injectors; every injector is then
// fitted with the winner.
const (
	manyReadings = 20000
	shapeFamily  = 48
)

// addRepeats takes in the readings that an injector took at one point as one.
func (d *dataset) addRepeats() {
	all := d.checked.Readings()
	share(len(d.ids), func(g int) {
		points := 0
		for range d.checked.Repeats(d.ids[g]) {
			points++
		}
		d.groups[g] = make([]datum, 0, points)
		cell := make([]datum, 0, 32) // beyond which they are asked from the heap
		for p, readings := range d.checked.Repeats(d.ids[g]) {
			cell = cell[:0]
			for _, k := range readings {
				cell = append(cell, datum{})
				x := &cell[len(cell)-1]
				usable := d.take(x, &all, int(k))
				if usable && x.q <= 0 {
					d.silent[g] = append(d.silent[g], *x)
				}
				if !usable || x.q <= 0 {
					cell = cell[:len(cell)-1]
				}
			}
			if len(cell) > 0 {
				d.addDelivery(g, joined(cell, d.checked.Rest(d.ids[g], p)))
			}
		}
	})
}

// joined is the mean of repeats: of those within four scaled median deviations of the
// median, so that a gross one does not carry it, and of the rest that Check judged without
// holding it. It stands for the first of them, at their mean pressure and voltage: within a
// point, what is delivered is straight over both to some millionths.
func joined(cell []datum, rest bench.Rest) datum {
	out := cell[0]
	if len(cell) == 1 && rest.N == 0 {
		return out
	}
	q := make([]float64, 0, 32) // beyond which they are asked from the heap
	for i := range cell {
		q = append(q, cell[i].q)
	}
	middle := lsq.Median(q)
	for i := range cell {
		q[i] = math.Abs(cell[i].q - middle)
	}
	reach := 4 * math.Max(1.4826*lsq.Median(q), out.sd)
	var sum, variance, p, v, n float64
	for i := range cell {
		x := &cell[i]
		if math.Abs(x.q-middle) <= reach {
			sum, variance, n = sum+x.q, variance+x.sd*x.sd, n+1
			p, v = p+x.c.p, v+x.c.v
		}
	}
	if more := float64(rest.N); more > 0 {
		sum, variance, n = sum+more*rest.PerShot.Ml()*microlitres, variance+square(more*rest.Read.Ml()*microlitres), n+more
		p, v = p+more*rest.Pressure.KPa(), v+more*rest.Voltage.V()
	}
	out.q, out.sd = sum/n, math.Sqrt(variance)/n
	out.c.p, out.c.v = p/n, v/n
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

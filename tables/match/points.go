package match

import (
	"fmt"
	"slices"
	"strings"

	"injtab/fit/bench"
	"injtab/fit/diag"
	"injtab/tables"
)

// choosePoints takes the points that are no leak tests, are asked for, and have
// a weight.
func (p *pile) choosePoints() error {
	all := p.c.Points()
	for _, w := range p.Points {
		if !slices.ContainsFunc(all, w.at) {
			return fmt.Errorf("--points: nothing was measured at %s: there is %s", w, few(p.names(compared(all))))
		}
	}
	for _, w := range p.Weights {
		if !slices.ContainsFunc(all, w.at) {
			return fmt.Errorf("--weights: nothing was measured at %s: there is %s", w.Where, few(p.names(compared(all))))
		}
	}
	for _, i := range compared(all) {
		switch {
		case len(p.Points) > 0 && !slices.ContainsFunc(p.Points, func(w Where) bool { return w.at(all[i]) }):
			p.leavePoint(i, "not asked for (--points)")
		case p.weightOf(i) <= 0:
			p.leavePoint(i, "its weight is 0")
		default:
			p.points = append(p.points, i)
		}
	}
	if len(p.points) == 0 {
		return fmt.Errorf("there is no point to compare the injectors at: a point needs a pulse, must be among --points and have a weight")
	}
	return nil
}

// compared are the points that are no leak tests.
func compared(all []bench.Point) []int {
	var list []int
	for i, p := range all {
		if !p.Leak {
			list = append(list, i)
		}
	}
	return list
}

func (p *pile) names(points []int) []string {
	var names []string
	for _, i := range points {
		names = append(names, tables.PointName(p.c.Points()[i]))
	}
	return names
}

func (p *pile) leavePoint(i int, why string) {
	p.unused = append(p.unused, UnusedPoint{newPoint(p.c.Points()[i]), why})
}

// weightOf is the weight of point i: of the last that names it.
func (p *pile) weightOf(i int) float64 {
	weight := 1.0
	for _, w := range p.Weights {
		if w.at(p.c.Points()[i]) {
			weight = w.Weight
		}
	}
	return weight
}

func (p *pile) delivered(i, point int) bool {
	m := p.c.Mean(i, point)
	return m.N > 0 && m.PerShot > 0
}

// agreeOnPoints leaves the points at which every unit delivered something, and
// takes out units until there is such a point.
func (p *pile) agreeOnPoints() error {
	if common, _ := p.commonPoints(p.keep); len(common) == 0 {
		return fmt.Errorf("--keep %s: there is no point at which all that are kept delivered something: keep fewer", listed(ids(p.c, p.keep)))
	}
	for {
		common, partly := p.commonPoints(p.units)
		if len(common) > 0 {
			p.tellUnused(partly)
			p.points = common
			return nil
		}
		out := p.leastMeasured()
		why := "delivered nothing at any point compared, or was not measured there"
		if n := p.measuredAt(p.units[out]); n > 0 {
			why = fmt.Sprintf("measured at too few points (%d of %d): with it there is no point to compare all injectors at", n, len(p.points))
		}
		p.leave(p.units[out], why)
		p.units = slices.Delete(p.units, out, out+1)
	}
}

// commonPoints parts the points into those where each of these injectors
// delivered something, and others.
func (p *pile) commonPoints(list []int) (common, partly []int) {
	for _, point := range p.points {
		if slices.ContainsFunc(list, func(i int) bool { return !p.delivered(i, point) }) {
			partly = append(partly, point)
		} else {
			common = append(common, point)
		}
	}
	return common, partly
}

func (p *pile) measuredAt(i int) (n int) {
	for _, point := range p.points {
		if p.delivered(i, point) {
			n++
		}
	}
	return n
}

// leastMeasured is the unit, not kept, that delivered at the fewest points, the
// last of those.
func (p *pile) leastMeasured() int {
	least := -1
	for u, i := range p.units {
		if slices.Contains(p.keep, i) {
			continue
		}
		if least < 0 || p.measuredAt(i) <= p.measuredAt(p.units[least]) {
			least = u
		}
	}
	return least
}

// tellUnused says which injectors keep points from being compared, and what
// leaving out one of them would bring.
func (p *pile) tellUnused(points []int) {
	for _, point := range points {
		var missing, misread, nothing []string
		for _, i := range p.units {
			switch m := p.c.Mean(i, point); {
			case m.N == 0 && p.wrong[place{i, point}]:
				misread = append(misread, id(p.c, i))
			case m.N == 0:
				missing = append(missing, id(p.c, i))
			case m.PerShot <= 0:
				nothing = append(nothing, id(p.c, i))
			}
		}
		var why []string
		if len(missing) > 0 {
			why = append(why, injectors(missing)+" "+was(len(missing))+" not measured there")
		}
		if len(misread) > 0 {
			why = append(why, "what was read of "+injectors(misread)+" there was judged wrong")
		}
		if len(nothing) > 0 {
			why = append(why, injectors(nothing)+" delivered nothing there")
		}
		p.leavePoint(point, strings.Join(why, "; "))
	}
	if len(points) > 0 {
		p.notes = append(p.notes, diag.Warn("points-not-compared", "%s compared, because not every injector delivered there: %s.%s",
			map[bool]string{true: "One point is not", false: fmt.Sprintf("%d points are not", len(points))}[len(points) == 1],
			few(p.names(points)), p.remedy(points)))
	}
}

// remedy names the injector whose leaving out would bring back the most points.
func (p *pile) remedy(points []int) string {
	alone := map[int]int{} // by injector: points at which it alone did not deliver
	for _, point := range points {
		var idle []int
		for _, i := range p.units {
			if !p.delivered(i, point) {
				idle = append(idle, i)
			}
		}
		if len(idle) == 1 {
			alone[idle[0]]++
		}
	}
	gain, best := 0, -1
	for _, i := range p.units {
		if alone[i] > gain {
			gain, best = alone[i], i
		}
	}
	if best < 0 {
		return ""
	}
	return fmt.Sprintf(" Without injector %s (--without %[1]s) %s more would be compared.", id(p.c, best), counted(gain, "point"))
}

package match

import (
	"cmp"
	"fmt"
	"slices"

	"injtab/tables"
)

// mostCharted is how many points one picture holds.
const mostCharted = 12

// charts shows the pile and the sets side by side at each point.
func (r Result) charts() []tables.Chart {
	if len(r.Sets) == 0 {
		return nil
	}
	columns := r.charted()
	c := tables.Chart{
		Name: "match", Title: "All injectors to choose from and the matched sets",
		Alt: fmt.Sprintf("Deviation from the mean at %s: the injectors in no set, if any, scatter widely, those of %s lie close together.",
			counted(len(columns), "point"), few(r.setNames())),
		X: tables.Scale{Title: "Point"}, Y: tables.Scale{Title: "From the mean of all", Unit: "%"},
	}
	for _, j := range columns {
		c.Categories = append(c.Categories, tables.PointName(r.pile.c.Points()[r.pile.points[j]]))
	}
	groups := [][]int{r.unchosen()}
	names := []string{"in no set"}
	for _, s := range r.Sets {
		groups, names = append(groups, s.units), append(names, s.Name)
	}
	for k, units := range groups {
		// Side by side within 0.6 of a category.
		shift := 0.6 * ((float64(k)+0.5)/float64(len(groups)) - 0.5)
		if len(units) > 0 {
			c.Series = append(c.Series, r.cloud(names[k], units, columns, shift))
		}
	}
	return []tables.Chart{c}
}

func (r Result) setNames() []string {
	var names []string
	for _, s := range r.Sets {
		names = append(names, s.Name)
	}
	return names
}

// charted are the columns shown: all, or those at which the sets spread most.
func (r Result) charted() []int {
	columns := r.pile.columns(func(int) bool { return true })
	if len(columns) <= mostCharted {
		return columns
	}
	worst := func(j int) (pct float64) {
		for _, s := range r.Sets {
			pct = max(pct, s.ByPoint[j].SpreadPct)
		}
		return pct
	}
	slices.SortStableFunc(columns, func(a, b int) int { return cmp.Compare(worst(b), worst(a)) })
	columns = columns[:mostCharted]
	slices.Sort(columns)
	return columns
}

// unchosen are the units in no set.
func (r Result) unchosen() (units []int) {
	for u := range r.pile.units {
		if !slices.ContainsFunc(r.Sets, func(s Set) bool { return slices.Contains(s.units, u) }) {
			units = append(units, u)
		}
	}
	return units
}

// cloud is a point for each unit at each column.
func (r Result) cloud(name string, units, columns []int, shift float64) tables.Series {
	everyone := make([]int, len(r.pile.units))
	for u := range everyone {
		everyone[u] = u
	}
	s := tables.Series{Name: name, Kind: tables.Points}
	for at, j := range columns {
		mean := r.pile.mean(everyone, j)
		for _, u := range units {
			y := r.pile.deviation(u, j, mean)
			s.X, s.Y = append(s.X, float64(at)+shift), append(s.Y, y)
			s.Labels = append(s.Labels, "injector "+r.pile.ids([]int{u})[0])
		}
	}
	return s
}

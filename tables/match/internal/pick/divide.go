package pick

import (
	"cmp"
	"slices"
)

// A Division is several disjoint groups with what has been proven of them.
type Division struct {
	Groups [][]int // each ascending; the best group first
	Worst  int32   // largest worst span of a group
	Lower  int32   // no division into so many groups has a smaller Worst
	Most   int     // of MostGroups: no division has more groups within the limit
}

// Proven tells whether no division into so many groups has a better worst group.
func (d Division) Proven() bool { return d.Lower >= d.Worst }

// Divide finds disjoint groups of k rows, as many as asked, that make the worst
// span of the worst group as small as possible. All rows of keep are in a
// group, those of leave in none. It panics on numbers that can't be: groups·k
// beyond the rows left, more kept than seats.
func Divide(m Matrix, k, groups int, keep, leave []int, meter *Meter) Division {
	d := Division{Groups: inTurn(m, k, groups, keep, leave, meter)}
	polish(m, d.Groups, keep, leave, meter)
	if groups > 2 {
		resplit(m, d.Groups, keep, leave, meter)
	}
	d.Worst = worstOf(m, d.Groups)
	v := newDivider(m, k, d.Worst, keep, leave, meter)
	if v == nil {
		d.Lower = Best(m, k, nil, leave, meter).Lower
	} else {
		d.Lower = v.lowest(groups)
		v.bisect(m, &d)
	}
	polish(m, d.Groups, keep, leave, meter)
	sortGroups(m, d.Groups)
	return d
}

// inTurn makes groups one after the other, each the best of the rows left,
// which is where the search for the best division starts. Kept rows come first.
func inTurn(m Matrix, k, groups int, keep, leave []int, meter *Meter) [][]int {
	var list [][]int
	keep, used := slices.Clone(keep), slices.Clone(leave)
	for len(list) < groups {
		later := k * (groups - len(list) - 1)
		now := min(len(keep), max(1, len(keep)-later))
		g := Best(m, k, keep[:now], used, meter)
		list = append(list, g.Rows)
		used = append(used, g.Rows...)
		keep = slices.DeleteFunc(keep, func(i int) bool { return slices.Contains(g.Rows, i) })
	}
	return list
}

func worstOf(m Matrix, groups [][]int) int32 {
	var worst int32
	for _, g := range groups {
		worst = max(worst, m.Worst(g))
	}
	return worst
}

func sortGroups(m Matrix, groups [][]int) {
	for _, g := range groups {
		slices.Sort(g)
	}
	slices.SortFunc(groups, func(a, b []int) int {
		return cmp.Or(cmp.Compare(m.Worst(a), m.Worst(b)), slices.Compare(a, b))
	})
}

package pick

import "slices"

// InTurn takes the best group of k rows, then the best of the rows left, and so
// on. The kept rows, at most k, are in the first. Each group is proven on its
// own, given those before it.
func InTurn(m Matrix, k, groups int, keep, leave []int, meter *Meter) []Group {
	var list []Group
	used := slices.Clone(leave)
	for len(list) < groups {
		g := Best(m, k, keep, used, meter)
		list = append(list, g)
		used = append(used, g.Rows...)
		keep = nil
	}
	return list
}

// LowerBound is a proven lower bound on the worst span of the worst of so many
// disjoint groups. Limit is the worst span of a division that is known.
func LowerBound(m Matrix, k, groups int, limit int32, keep, leave []int, meter *Meter) int32 {
	if v := newDivider(m, k, limit, keep, leave, meter); v != nil {
		return v.lowest(groups)
	}
	return Best(m, k, nil, leave, meter).Lower
}

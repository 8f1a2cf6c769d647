package bench

import "slices"

// splitAtGaps cuts rising values at their widest gap, and each part again, until no part
// spans more than limit. It gives where each part begins.
//
// Cutting by searching every part anew takes the square of their number where the ends
// are ragged. So the gaps are hung up in a tree first, each below the nearest wider one
// that is in the same part (the Cartesian tree of Vuillemin 1980, from memory).
func splitAtGaps(values []float64, limit float64) (starts []int) {
	limit = limit*(1+1e-9) + 1e-12
	left, right, root := gapTree(values)
	type part struct{ lo, hi, widest int }
	todo := []part{{0, len(values) - 1, root}}
	for len(todo) > 0 {
		x := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		if values[x.hi]-values[x.lo] <= limit {
			starts = append(starts, x.lo)
			continue
		}
		todo = append(todo, part{x.widest + 1, x.hi, int(right[x.widest])}, part{x.lo, x.widest, int(left[x.widest])})
	}
	return starts
}

// gapTree gives for the gap above each value the widest one before it and after it in
// its part, and the widest of all.
func gapTree(values []float64) (left, right []int32, root int) {
	wider := func(a, b int32) bool { // rounding does not choose among equal gaps
		return values[a+1]-values[a] > (values[b+1]-values[b])*(1+1e-9)
	}
	left, right = make([]int32, len(values)), make([]int32, len(values))
	var path []int32 // from the root down the right side
	for i := range int32(len(values) - 1) {
		for len(path) > 0 && wider(i, path[len(path)-1]) {
			left[i] = path[len(path)-1]
			path = path[:len(path)-1]
		}
		if len(path) > 0 {
			right[path[len(path)-1]] = i
		}
		path = append(path, i)
	}
	if len(path) > 0 {
		root = int(path[0])
	}
	return left, right, root
}

// distinct gives the values in rising order, each once.
func distinct(values []float64) []float64 {
	sorted := slices.Clone(values)
	slices.Sort(sorted)
	return slices.Compact(sorted)
}

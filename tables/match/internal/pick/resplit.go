package pick

import "slices"

// resplitWork bounds one division of two groups anew.
const resplitWork = 20_000_000

// resplit takes the worst group with another one and the rows in no group, and
// divides those anew, as well as two groups can be divided, as long as that
// makes the worst group better. It is the search for a good division where
// exchanges of single rows find no way on.
func resplit(m Matrix, groups [][]int, keep, leave []int, meter *Meter) {
	for !meter.Stopped() && resplitWorst(m, groups, keep, leave, meter) {
	}
}

func resplitWorst(m Matrix, groups [][]int, keep, leave []int, meter *Meter) bool {
	sortGroups(m, groups)
	last := len(groups) - 1
	worst := m.Worst(groups[last])
	for a := range last {
		others := slices.Clone(leave)
		for b, g := range groups {
			if b != a && b != last {
				others = append(others, g...)
			}
		}
		kept := slices.DeleteFunc(slices.Clone(keep), func(i int) bool { return slices.Contains(others, i) })
		part := meter.share(resplitWork)
		d := Divide(m, len(groups[a]), 2, kept, others, part)
		meter.join(part)
		if d.Worst < worst {
			groups[a], groups[last] = d.Groups[0], d.Groups[1]
			return true
		}
		if meter.Stopped() {
			return false
		}
	}
	return false
}

package export

import (
	"math"
	"sort"

	"injtab/tables"
)

// heights are the ends of the axis for the bars of columns. Where a few rows, a
// quarter at most, have bars more than three times as long as all others, such as a
// dead injector among sound ones, it is cut for those to be seen.
func heights(t tables.Table, columns []int) (least, most float64, cut bool) {
	longest := make([]float64, len(t.Cells))
	for r, row := range t.Cells {
		for _, c := range columns {
			if x := row[c].Value; row[c].Status.HasValue() {
				least, most, longest[r] = min(least, x), max(most, x), max(longest[r], math.Abs(x))
			}
		}
	}
	sort.Float64s(longest)
	for k := len(longest) - 1; k > 0 && k >= len(longest)-len(longest)/4; k-- {
		if limit := longest[k-1]; limit > 0 && longest[k] > 3*limit {
			step := roundUp(limit / 4)
			edge := math.Ceil(limit/step-1e-9) * step
			return max(math.Floor(least/step)*step, -edge), min(math.Ceil(most/step)*step, edge), true
		}
	}
	return least, most, false
}

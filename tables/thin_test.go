package tables

import (
	"math"
	"testing"
)

// TestThinnedChartsKeepNoTimeWithTheBench: of many readings about so many are drawn as
// were promised, and of every turn that injectors or points take the same share.
func TestThinnedChartsKeepNoTimeWithTheBench(t *testing.T) {
	for _, n := range []int{1, mostPoints, mostPoints + 1, 100_000, 1_000_000} {
		for _, turn := range []int{1, 4, 8, 20} {
			count := make([]int, turn)
			for i := range n {
				if drawn(i, n) {
					count[i%turn]++
				}
			}
			want := float64(min(n, mostPoints)) / float64(turn)
			for k, got := range count {
				if math.Abs(float64(got)-want) > 1+0.05*want {
					t.Errorf("%d readings in turns of %d: %d of those numbered %d are drawn, want about %.0f", n, turn, got, k, want)
				}
			}
		}
	}
}

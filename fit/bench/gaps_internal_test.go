package bench

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// partsAnew cuts values by searching each part for its widest gap anew.
func partsAnew(values []float64, first int, limit float64) []int {
	if values[len(values)-1]-values[0] <= limit {
		return []int{first}
	}
	widest, cut := 0.0, 0
	for k := 1; k < len(values); k++ {
		if gap := values[k] - values[k-1]; gap > widest*(1+1e-9) {
			widest, cut = gap, k
		}
	}
	return slices.Concat(partsAnew(values[:cut], first, limit), partsAnew(values[cut:], first+cut, limit))
}

// TestSplitAtGaps: the tree gives the parts that searching anew gives.
func TestSplitAtGaps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		one := rapid.OneOf(rapid.Float64Range(0, 10), rapid.Map(rapid.IntRange(0, 20), func(n int) float64 { return float64(n) / 2 }))
		values := distinct(rapid.SliceOfN(one, 1, 60).Draw(t, "values"))
		limit := rapid.SampledFrom([]float64{0, 0.5, 1, 3, 20}).Draw(t, "limit")
		want := partsAnew(values, 0, limit*(1+1e-9)+1e-12)
		if got := splitAtGaps(values, limit); !slices.Equal(got, want) {
			t.Fatalf("got %v, want %v", got, want)
		}
	})
}

// BenchmarkSplitAtGaps has ragged ends: the gaps grow towards them.
func BenchmarkSplitAtGaps(b *testing.B) {
	values := make([]float64, 100_001)
	for i := range values {
		x := float64(i-50_000) / 50_001
		values[i] = math.Atanh(x)
	}
	for b.Loop() {
		splitAtGaps(values, 0.5)
	}
}

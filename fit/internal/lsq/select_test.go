package lsq

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// TestNth: every place gets the value that sorting puts there, and parts the others.
func TestNth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		few := rapid.SampledFrom([]float64{-1, 0, 0.5, 2, math.Inf(1)})
		any := rapid.OneOf(few, rapid.Float64Range(-10, 10))
		values := rapid.SliceOfN(any, 1, 200).Draw(t, "values")
		k := rapid.IntRange(0, len(values)-1).Draw(t, "k")
		sorted := slices.Sorted(slices.Values(values))
		if got := Nth(values, k); got != sorted[k] || values[k] != got {
			t.Fatalf("got %v, and %v there, want %v", got, values[k], sorted[k])
		}
		if slices.Max(values[:k+1]) > values[k] || slices.Min(values[k:]) < values[k] {
			t.Fatal("values are on the wrong side")
		}
		slices.Sort(values)
		if !slices.Equal(values, sorted) {
			t.Fatal("values were lost")
		}
	})
}

func BenchmarkNth(b *testing.B) {
	values, work := make([]float64, 1001), make([]float64, 1001)
	for i := range values {
		values[i] = math.Mod(float64(i)*0.6180339887, 1)
	}
	for b.Loop() {
		copy(work, values)
		Nth(work, 500)
	}
}

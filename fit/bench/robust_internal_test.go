package bench

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestScaleWithoutMedian: that the scale is not looked for where most residuals are small
// changes no bit of a weight.
func TestScaleWithoutMedian(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for n := range 200 {
		var r robust
		r.resize(n%15 + 1)
		for i := range r.z {
			r.z[i] = random.NormFloat64() * (0.5 + float64(n%10)/5)
		}
		sizes := make([]float64, len(r.z))
		for i, z := range r.z {
			sizes[i] = math.Abs(z)
		}
		cut := bisquare * math.Max(1, madToSigma*median(sizes))
		r.weigh()
		for i, z := range r.z {
			want := math.Max(0, 1-z/cut*(z/cut))
			if got := r.w[i]; math.Float64bits(got) != math.Float64bits(want*want) {
				t.Fatalf("%v: weight %d is %v, want %v", r.z, i, got, want*want)
			}
		}
	}
}

// TestMedianOfShares: it is that of the values, each as often as readings have it.
func TestMedianOfShares(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for n := range 100 {
		readings, values, all := make([]int32, n), make([]float64, n), []float64(nil)
		for j := range values {
			readings[j], values[j] = int32(random.IntN(4)), float64(random.IntN(20))/7
			for range readings[j] {
				all = append(all, values[j])
			}
		}
		got := sharedMedian(n, func(j int) (int32, float64) { return readings[j], values[j] })
		if want := median(all); math.Float64bits(got) != math.Float64bits(want) {
			t.Fatalf("median of %v, each %v times, is %v, want %v", values, readings, got, want)
		}
	}
}

package bench

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestScaleWithoutMedian: that the scale is not looked for where most residuals are small
// changes no weight.
func TestScaleWithoutMedian(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for n := range 200 {
		var r robust
		z, s := make([]float64, n%15+1), make([]float64, n%15+1)
		for i := range z {
			z[i], s[i] = random.NormFloat64()*(0.5+float64(n%10)/5), 0.1+random.Float64()
		}
		r.begin(s)
		sizes := make([]float64, len(z))
		for i := range z {
			r.z2[i], sizes[i] = z[i]*z[i], math.Abs(z[i])
		}
		cut := bisquare * math.Max(1, madToSigma*median(sizes))
		r.weigh()
		for i := range z {
			want := math.Max(0, 1-z[i]/cut*(z[i]/cut))
			want *= want / (s[i] * s[i])
			if got := r.w[i]; math.Abs(got-want) > 1e-12*(1+want) {
				t.Fatalf("%v: weight %d is %v, want %v", z, i, got, want)
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

package lsq

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// epsilon is the spacing of float64 at 1.
const epsilon = 0x1p-52

// madToSigma makes the median absolute deviation estimate the standard
// deviation of normal data: 1/Φ⁻¹(3/4).
const madToSigma = 1.482602218505602

func finite(v float64) bool { return math.Abs(v) <= math.MaxFloat64 } // false of NaN

// weight is w[i], or 1 where there are no weights.
func weight(w []float64, i int) float64 {
	if w == nil {
		return 1
	}
	return w[i]
}

func weightedMean(y, w []float64) float64 {
	sum, sw := 0.0, 0.0
	for i, v := range y {
		sum += weight(w, i) * v
		sw += weight(w, i)
	}
	return sum / sw
}

// T returns the two-sided quantile of Student's distribution: the factor k for
// which ±k covers the level (0 < level < 1) with dof degrees of freedom. It is
// +Inf for dof below 1, where no scatter is known.
func T(level float64, dof int) float64 {
	if dof < 1 {
		return math.Inf(1)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(dof)}.Quantile((1 + level) / 2)
}

// Median returns the median of x and reorders x; NaN when x is empty.
func Median(x []float64) float64 {
	n := len(x)
	if n == 0 {
		return math.NaN()
	}
	upper := Nth(x, n/2)
	if n%2 == 1 {
		return upper
	}
	if n <= fewValues { // they are sorted
		return upper + (x[n/2-1]-upper)/2
	}
	return upper + (slices.Max(x[:n/2])-upper)/2
}

// MAD returns the median of x and the median absolute deviation from it times
// 1.4826, which estimates the standard deviation of normal data while up to
// half of x may be anything. Both are 0 when x is empty; x is not changed.
func MAD(x []float64) (center, scale float64) {
	if len(x) == 0 {
		return 0, 0
	}
	d := slices.Clone(x)
	center = Median(d)
	for i, v := range x {
		d[i] = math.Abs(v - center)
	}
	return center, madToSigma * Median(d)
}

// AICc is the corrected Akaike criterion of a least-squares fit whose variance
// is estimated from its own residuals,
//
//	n·ln(rss/n) + 2k + 2k(k+1)/(n-k-1)
//
// with n residuals and k parameters, the variance counted among the k (Hurvich
// and Tsai, Biometrika 76, 1989, from memory). Lower is better; +Inf when
// n ≤ k+1. Only differences between fits of the same data mean anything.
func AICc(rss float64, n, k int) float64 {
	return float64(n)*math.Log(math.Max(rss, math.SmallestNonzeroFloat64)/float64(n)) + penalty(n, k)
}

// AICcKnown is the same for residuals divided by known standard deviations: -2
// ln likelihood is then rss itself, and the variance is not among the k.
func AICcKnown(rss float64, n, k int) float64 { return rss + penalty(n, k) }

func penalty(n, k int) float64 {
	if n <= k+1 {
		return math.Inf(1)
	}
	return 2*float64(k) + 2*float64(k)*float64(k+1)/float64(n-k-1)
}

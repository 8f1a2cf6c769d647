package bench

import (
	"cmp"
	"math"
	"slices"

	"injtab/fit/internal/lsq"
)

const (
	madToSigma = 1.4826 // median absolute deviation of normal data to its standard deviation
	bisquare   = 4.685  // Tukey's constant for 95 % efficiency (Holland and Welsch 1977, from memory)
	smallSize  = 0.674  // times madToSigma is below 1
	reweighted = 10     // rounds
	settled    = 1e-6   // change of a gain or, in ms, of a lateness that is none
	startPairs = 100    // values that a resistant start looks at; it takes their square
)

// weightedMedian is the value at half of the weight.
func weightedMedian(values, weights []float64) float64 {
	type weighed struct{ value, weight float64 }
	sorted := make([]weighed, len(values))
	total := 0.0
	for i, v := range values {
		sorted[i] = weighed{v, weights[i]}
		total += weights[i]
	}
	slices.SortFunc(sorted, func(a, b weighed) int { return cmp.Compare(a.value, b.value) })
	sum := 0.0
	for _, x := range sorted {
		if sum += x.weight; sum >= total/2 {
			return x.value
		}
	}
	return 0
}

// A robust holds the working values of bisquare fits, for thousands to share.
type robust struct {
	precision []float64 // of each value: one over its variance
	z2        []float64 // its residual squared, by its variance
	w, sizes  []float64
}

// begin takes the standard deviations of some values.
func (r *robust) begin(s []float64) {
	n := len(s)
	r.precision, r.z2 = slices.Grow(r.precision[:0], n)[:n], slices.Grow(r.z2[:0], n)[:n]
	r.w, r.sizes = slices.Grow(r.w[:0], n)[:n], slices.Grow(r.sizes[:0], n)[:n]
	for i, x := range s {
		r.precision[i] = 1 / (x * x)
	}
}

// weigh gives each value the weight w of its precision and of Tukey's bisquare; the scale is
// that of the residuals, but no less than 1. Where more than half of them are small it is 1,
// and their median is not looked for: a twentieth of the time of checking.
func (r *robust) weigh() {
	small := 0
	for _, z2 := range r.z2 {
		if z2 <= smallSize*smallSize {
			small++
		}
	}
	cut := bisquare
	if 2*small <= len(r.z2) {
		for i, z2 := range r.z2 {
			r.sizes[i] = math.Sqrt(z2)
		}
		cut *= math.Max(1, madToSigma*median(r.sizes))
	}
	inverse := 1 / (cut * cut)
	for i, z2 := range r.z2 {
		r.w[i] = 0
		if within := 1 - z2*inverse; within > 0 {
			r.w[i] = within * within * r.precision[i]
		}
	}
}

// mean is the bisquare mean of values with their standard deviations.
func (r *robust) mean(v, s []float64) float64 {
	r.begin(s)
	copy(r.sizes, v)
	m := median(r.sizes)
	for range reweighted {
		for i, x := range v {
			r.z2[i] = (x - m) * (x - m) * r.precision[i]
		}
		r.weigh()
		sum, sumV := 0.0, 0.0
		for i, w := range r.w {
			sum += w
			sumV += w * v[i]
		}
		if sum <= 0 {
			return m
		}
		before := m
		if m = sumV / sum; math.Abs(m-before) < settled {
			break
		}
	}
	return m
}

// line fits y = a − b·x by bisquare from a start. Where x hardly varies b is 0; else a
// weak prior of zero with the standard deviation priorB keeps few points from an absurd
// slope.
func (r *robust) line(x, y, s []float64, startA, startB, priorB float64) (a, b float64) {
	a, b = startA, startB
	sloped := canSlope(x)
	r.begin(s)
	for range reweighted {
		for i := range x {
			off := y[i] - a + b*x[i]
			r.z2[i] = off * off * r.precision[i]
		}
		r.weigh()
		var sw, sx, sy, sxx, sxy float64
		for i, w := range r.w {
			wx := w * x[i]
			sw += w
			sx += wx
			sy += w * y[i]
			sxx += wx * x[i]
			sxy += wx * y[i]
		}
		if sw <= 0 {
			return a, b
		}
		beforeA, beforeB := a, b
		if sloped {
			sxx += 1 / (priorB * priorB)
			det := sw*sxx - sx*sx
			a, b = (sy*sxx-sx*sxy)/det, (sx*sy-sw*sxy)/det
		} else {
			a = sy / sw
		}
		if math.Abs(a-beforeA) < settled && math.Abs(b-beforeB) < settled {
			break
		}
	}
	return a, b
}

// canSlope tells whether points are enough, and x varies enough, for a slope.
func canSlope(x []float64) bool {
	return len(x) >= 4 && slices.Max(x) >= 1.3*slices.Min(x)
}

// startLine is a line y = a − b·x that up to half of the points can't move; level where
// x hardly varies or the points are few.
func startLine(x, y []float64) (a, b float64) {
	if !canSlope(x) {
		return median(slices.Clone(y)), 0
	}
	if step := len(x)/startPairs + 1; step > 1 {
		var fewX, fewY []float64
		for i := 0; i < len(x); i += step {
			fewX, fewY = append(fewX, x[i]), append(fewY, y[i])
		}
		x, y = fewX, fewY
	}
	a, slope := lsq.RepeatedMedian(x, y)
	return a, -slope
}

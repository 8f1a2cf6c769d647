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
	reweighted = 10     // rounds
	startPairs = 100    // values that a resistant start looks at; it takes their square
)

// median sorts the values in place; of an even number it is the mean of the two in
// the middle. It is 0 of none.
func median(values []float64) float64 {
	n := len(values)
	if n == 0 {
		return 0
	}
	slices.Sort(values)
	return (values[(n-1)/2] + values[n/2]) / 2
}

// quantile sorts the values in place and takes the one at a part of their number.
func quantile(values []float64, part float64) float64 {
	if len(values) == 0 {
		return 0
	}
	slices.Sort(values)
	return values[int(part*float64(len(values)-1))]
}

// weightedMedian is the value at half of the weight.
func weightedMedian(values, weights []float64) float64 {
	order := make([]int, len(values))
	total := 0.0
	for i := range order {
		order[i] = i
		total += weights[i]
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Or(cmp.Compare(values[a], values[b]), a-b) })
	sum := 0.0
	for _, i := range order {
		if sum += weights[i]; sum >= total/2 {
			return values[i]
		}
	}
	return 0
}

// bisquareWeights gives each residual, divided by its standard deviation, the weight
// of Tukey's bisquare; the scale is theirs, but no less than 1.
func bisquareWeights(z []float64) []float64 {
	sizes := make([]float64, len(z))
	for i := range z {
		sizes[i] = math.Abs(z[i])
	}
	cut := bisquare * math.Max(1, madToSigma*median(sizes))
	w := make([]float64, len(z))
	for i := range z {
		if t := z[i] / cut; math.Abs(t) < 1 {
			w[i] = (1 - t*t) * (1 - t*t)
		}
	}
	return w
}

// robustMean is the bisquare mean of values with their standard deviations.
func robustMean(v, s []float64) float64 {
	m := median(slices.Clone(v))
	z := make([]float64, len(v))
	for range reweighted {
		for i := range v {
			z[i] = (v[i] - m) / s[i]
		}
		sum, sumV := 0.0, 0.0
		for i, w := range bisquareWeights(z) {
			w /= s[i] * s[i]
			sum += w
			sumV += w * v[i]
		}
		if sum <= 0 {
			return m
		}
		m = sumV / sum
	}
	return m
}

// robustLine fits y = a − b·x by bisquare from a start. Where x hardly varies b is 0;
// else a weak prior of zero with the standard deviation priorB keeps few points from an
// absurd slope.
func robustLine(x, y, s []float64, startA, startB, priorB float64) (a, b float64) {
	a, b = startA, startB
	sloped := canSlope(x)
	z := make([]float64, len(x))
	for range reweighted {
		for i := range x {
			z[i] = (y[i] - a + b*x[i]) / s[i]
		}
		var sw, sx, sy, sxx, sxy float64
		for i, w := range bisquareWeights(z) {
			w /= s[i] * s[i]
			sw += w
			sx += w * x[i]
			sy += w * y[i]
			sxx += w * x[i] * x[i]
			sxy += w * x[i] * y[i]
		}
		if sw <= 0 {
			return a, b
		}
		if !sloped {
			a = sy / sw
			continue
		}
		sxx += 1 / (priorB * priorB)
		det := sw*sxx - sx*sx
		a, b = (sy*sxx-sx*sxy)/det, (sx*sy-sw*sxy)/det
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

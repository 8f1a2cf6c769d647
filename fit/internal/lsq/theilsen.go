package lsq

import "math"

// TheilSen returns the line whose slope is the median of the slopes between
// all pairs of points of different x, and whose intercept is the median of
// y - slope·x. Up to 29 % of the points may be anything. Both are 0 when no two
// x differ. Cost grows with the square of the number of points.
func TheilSen(x, y []float64) (intercept, slope float64) {
	slopes := make([]float64, 0, len(x)*(len(x)-1)/2)
	for i := range x {
		for j := range i {
			if dx := x[i] - x[j]; math.Abs(dx) > 0 {
				slopes = append(slopes, (y[i]-y[j])/dx)
			}
		}
	}
	if len(slopes) == 0 {
		return 0, 0
	}
	slope = median(slopes)
	return medianIntercept(x, y, slope), slope
}

// RepeatedMedian returns the line whose slope is the median over the points of
// the median slope from each point to all others (Siegel, Biometrika 69, 1982,
// from memory). Up to half of the points may be anything.
func RepeatedMedian(x, y []float64) (intercept, slope float64) {
	medians := make([]float64, 0, len(x))
	slopes := make([]float64, 0, len(x))
	for i := range x {
		slopes = slopes[:0]
		for j := range x {
			if dx := x[i] - x[j]; math.Abs(dx) > 0 {
				slopes = append(slopes, (y[i]-y[j])/dx)
			}
		}
		if len(slopes) > 0 {
			medians = append(medians, median(slopes))
		}
	}
	if len(medians) == 0 {
		return 0, 0
	}
	slope = median(medians)
	return medianIntercept(x, y, slope), slope
}

func medianIntercept(x, y []float64, slope float64) float64 {
	rest := make([]float64, len(x))
	for i := range x {
		rest[i] = y[i] - slope*x[i]
	}
	return median(rest)
}

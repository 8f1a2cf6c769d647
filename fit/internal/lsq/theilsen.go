package lsq

import (
	"cmp"
	"math"
	"slices"
)

// pairedPoints is the most points from which slopes between all pairs are
// taken. Of more points an even choice in order of x stands for all: as the
// start of a fit that is as good, and time and memory stay bounded.
const pairedPoints = 1000

// TheilSen returns the line whose slope is the median of the slopes between
// all pairs of points of different x, and whose intercept is the median of
// y - slope·x (Theil 1950, Sen 1968, from memory). Up to 29 % of the points may
// be anything. Both are 0 when no two x differ.
func TheilSen(x, y []float64) (intercept, slope float64) {
	px, py := evenChoice(x, y)
	slopes := make([]float64, 0, len(px)*(len(px)-1)/2+1)
	for i := range px {
		slopes = appendSlopes(slopes, px[:i], py[:i], px[i], py[i])
	}
	return medianLine(x, y, slopes)
}

// RepeatedMedian returns the line whose slope is the median over the points of
// the median slope from each point to all others (Siegel, Biometrika 69, 1982,
// from memory), and whose intercept is the median of y - slope·x. Up to half of
// the points may be anything. Both are 0 when no two x differ.
func RepeatedMedian(x, y []float64) (intercept, slope float64) {
	px, py := evenChoice(x, y)
	medians := make([]float64, 0, len(px))
	slopes := make([]float64, 0, len(px))
	for i := range px {
		slopes = appendSlopes(slopes[:0], px, py, px[i], py[i])
		if len(slopes) > 0 {
			medians = append(medians, Median(slopes))
		}
	}
	return medianLine(x, y, medians)
}

// evenChoice returns the points, or of more than pairedPoints an even choice in order of x
// of that many.
func evenChoice(x, y []float64) (px, py []float64) {
	checkLengths(len(x), y, nil)
	if len(x) <= pairedPoints {
		return x, y
	}
	order := make([]int, len(x))
	for i := range order {
		order[i] = i
	}
	if !rising(x) { // which those of runs are in a third of the time of sorting them
		slices.SortFunc(order, func(a, b int) int {
			return cmp.Or(cmp.Compare(x[a], x[b]), cmp.Compare(y[a], y[b]))
		})
	}
	px, py = make([]float64, 0, pairedPoints), make([]float64, 0, pairedPoints)
	for k := range pairedPoints {
		i := order[(2*k+1)*len(order)/(2*pairedPoints)]
		px, py = append(px, x[i]), append(py, y[i])
	}
	return px, py
}

// rising tells whether each value is above the one before.
func rising(x []float64) bool {
	for i := 1; i < len(x); i++ {
		if !(x[i] > x[i-1]) {
			return false
		}
	}
	return true
}

// appendSlopes appends those from (x0, y0) to all points of another x.
func appendSlopes(slopes, x, y []float64, x0, y0 float64) []float64 {
	for i := range x {
		if dx := x[i] - x0; math.Abs(dx) > 0 {
			slopes = append(slopes, (y[i]-y0)/dx)
		}
	}
	return slopes
}

// medianLine is the line of the median slope with as many points above as below.
func medianLine(x, y, slopes []float64) (intercept, slope float64) {
	if len(slopes) == 0 {
		return 0, 0
	}
	slope = Median(slopes)
	rest := make([]float64, len(x))
	for i := range x {
		rest[i] = y[i] - slope*x[i]
	}
	return Median(rest), slope
}

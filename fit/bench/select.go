package bench

import "injtab/fit/internal/lsq"

// median reorders the values; of an even number it is the mean of the two in the
// middle. It is 0 of none.
func median(values []float64) float64 {
	if len(values) == 0 {
		return 0
	}
	return lsq.Median(values)
}

// quantile reorders the values and takes the one at a part of their number. It is 0 of
// none.
func quantile(values []float64, part float64) float64 {
	if len(values) == 0 {
		return 0
	}
	return lsq.Nth(values, int(part*float64(len(values)-1)))
}

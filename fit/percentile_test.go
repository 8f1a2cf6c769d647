package fit_test

import (
	"testing"

	"injtab/fit"
)

// Of twenty values nineteen are 95 of 100.
func TestPercentile(t *testing.T) {
	for _, c := range []struct {
		n    int
		q    float64
		want float64
	}{{20, 0.95, 19}, {20, 0.96, 20}, {20, 1, 20}, {20, 0, 1}, {1, 0.95, 1}, {3, 0.5, 2}, {1000, 0.951, 951}} {
		values := make([]float64, c.n)
		for i := range values {
			values[i] = float64((i*7)%c.n + 1) // 1 to n in some order: 7 divides no n here
		}
		if got := fit.Percentile(values, c.q); got < c.want || got > c.want {
			t.Errorf("%d values, %g: %g, want %g", c.n, c.q, got, c.want)
		}
	}
}

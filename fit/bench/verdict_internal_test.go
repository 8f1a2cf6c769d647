package bench

import "testing"

// TestSteadyLeavesOutNothing: readings of nothing are not among the misses, so that they do
// not bear on how many of these are small. With eleven misses seven are kept, with twelve six.
func TestSteadyLeavesOutNothing(t *testing.T) {
	parts := []float64{0, 0, 0, 0, 0, 0, 0.029, 0.029, 0.029, 0.029, 0.029, -1}
	of, at := make([]int32, len(parts)), make([]int32, len(parts))
	c := &Checked{pairs: newPairs(of, at, 1, 1), shown: make([]float64, len(parts))}
	for j, part := range parts {
		c.shown[j] = 1 + part
	}
	f := &family{c: c, flow: []float64{1}}
	if f.steady(0, &misses{c: c, expected: []expected{{1, 0.01}}}) {
		t.Error("six small misses of eleven make an injector steady, want seven")
	}
	c.shown[6] = 1
	if !f.steady(0, &misses{c: c, expected: []expected{{1, 0.01}}}) {
		t.Error("seven small misses of eleven do not make an injector steady")
	}
}

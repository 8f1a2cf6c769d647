package bench

import (
	"slices"
	"testing"
)

// TestMostNearOfFew: through two of four points there is a line that is near to a third, and
// another may be near to as many; of twelve on a line there is no other.
func TestMostNearOfFew(t *testing.T) {
	few := memberFit{x: []float64{0, 1, 2, 3}, y: []float64{1, 1, 1, 1.3}, s: []float64{0.01, 0.01, 0.01, 0.01}}
	if few.mostNear(1, 0) {
		t.Error("three of four points need no resistant start")
	}
	many := memberFit{x: slices.Repeat(few.x, 3), y: slices.Repeat(few.y, 3), s: slices.Repeat(few.s, 3)}
	if !many.mostNear(1, 0) {
		t.Error("nine of twelve points need a resistant start")
	}
}

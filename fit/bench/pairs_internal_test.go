package bench

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// TestPairs: every reading is found under its injector and point, in the order of the
// sheet, and pairs that were not measured are not found.
func TestPairs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const injectors, points = 5, 4
		n := rapid.IntRange(1, 40).Draw(t, "n")
		injectorOf, pointOf := make([]int32, n), make([]int32, n)
		type at struct{ i, p int }
		want := map[at][]int32{}
		for k := range n {
			i, p := rapid.IntRange(0, injectors-1).Draw(t, "injector"), rapid.IntRange(0, points-1).Draw(t, "point")
			injectorOf[k], pointOf[k] = int32(i), int32(p)
			want[at{i, p}] = append(want[at{i, p}], int32(k))
		}
		s := newPairs(injectorOf, slices.Clone(pointOf), injectors, points)
		if s.count() != len(want) {
			t.Fatalf("%d pairs, want %d", s.count(), len(want))
		}
		for i := range injectors {
			for p := range points {
				pair := s.find(i, p)
				list, measured := want[at{i, p}]
				if (pair != none) != measured {
					t.Fatalf("injector %d at point %d: found is %v", i, p, pair != none)
				}
				if measured && !slices.Equal(s.readings(pair), list) {
					t.Fatalf("injector %d at point %d: %v, want %v", i, p, s.readings(pair), list)
				}
				if measured != slices.Contains(s.at[p], pair) && measured {
					t.Fatalf("point %d lacks injector %d", p, i)
				}
			}
		}
		for k := range n {
			if x := s.list[s.of[k]]; x.injector != injectorOf[k] || x.point != pointOf[k] {
				t.Fatalf("reading %d is at %v", k, x)
			}
		}
	})
}

package bench

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestPlainNumbers: the short way of reading a number takes nothing that the long one
// refuses, and gives the same bits in every unit.
func TestPlainNumbers(t *testing.T) {
	taken := 0
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[0-9]{0,6}[.,+eE -]?[0-9]{0,6}|9{8,11}`).Draw(t, "text")
		digits, behind, ok := plainDecimal(text)
		if !ok {
			return
		}
		taken++
		d, isNumber := parseDecimal(text)
		if !isNumber || d.negative || d.sign == ',' || (d.sign == '.') != (behind > 0) || strings.ContainsAny(text, "eE") {
			t.Fatalf("%q was taken for %d with %d behind the point", text, digits, behind)
		}
		for _, k := range kinds {
			for _, s := range k.scales {
				if got, want := s.plain(digits, behind), s.si(d); math.Float64bits(got) != math.Float64bits(want) || !(got < maxNumber) {
					t.Fatalf("%q under %s%s: %v, want %v", text, k.name, s.suffix, got, want)
				}
			}
		}
	})
	if taken == 0 {
		t.Error("no number was plain")
	}
}

package bench

import (
	"cmp"
	"strings"
)

// CompareNatural orders names as people do: runs of digits by their value, so that 2
// comes before 10; letter case decides only between names that are else alike.
func CompareNatural(a, b string) int {
	return cmp.Or(natural(strings.ToLower(a), strings.ToLower(b)), cmp.Compare(a, b))
}

func natural(a, b string) int {
	for a != "" && b != "" {
		da, db := digits(a), digits(b)
		if da > 0 && db > 0 {
			na, nb := strings.TrimLeft(a[:da], "0"), strings.TrimLeft(b[:db], "0")
			if c := cmp.Or(cmp.Compare(len(na), len(nb)), cmp.Compare(na, nb)); c != 0 {
				return c
			}
			a, b = a[da:], b[db:]
			continue
		}
		if a[0] != b[0] {
			return cmp.Compare(a[0], b[0])
		}
		a, b = a[1:], b[1:]
	}
	return cmp.Compare(len(a), len(b))
}

func digits(text string) int {
	n := 0
	for n < len(text) && text[n] >= '0' && text[n] <= '9' {
		n++
	}
	return n
}

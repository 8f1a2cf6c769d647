package pick

import "math/bits"

// Sets of small numbers as 64-bit words.

func bitset(n int) []uint64 { return make([]uint64, (n+63)/64) }

func has(s []uint64, v int) bool { return s[v>>6]&(1<<(v&63)) != 0 }
func put(s []uint64, v int)      { s[v>>6] |= 1 << (v & 63) }
func drop(s []uint64, v int)     { s[v>>6] &^= 1 << (v & 63) }

func resized(s []uint64, n int) []uint64 {
	if cap(s) < n {
		return make([]uint64, n)
	}
	s = s[:n]
	clear(s)
	return s
}

func count(s []uint64) (n int) {
	for _, w := range s {
		n += bits.OnesCount64(w)
	}
	return n
}

func overlap(a, b []uint64) (n int) {
	for w, x := range a {
		n += bits.OnesCount64(x & b[w])
	}
	return n
}

// and sets to to the common elements of a and b, and counts them.
func and(to, a, b []uint64) (n int) {
	for w := range to {
		to[w] = a[w] & b[w]
		n += bits.OnesCount64(to[w])
	}
	return n
}

// first is the lowest element from word on, or -1.
func first(s []uint64, word int) int {
	for w := word; w < len(s); w++ {
		if s[w] != 0 {
			return w<<6 + bits.TrailingZeros64(s[w])
		}
	}
	return -1
}

// each yields the elements of a set; one may be removed while it is visited.
func each(s []uint64) func(func(int) bool) {
	return func(yield func(int) bool) {
		for w := range s {
			for word := s[w]; word != 0; word &= word - 1 {
				if !yield(w<<6 + bits.TrailingZeros64(word)) {
					return
				}
			}
		}
	}
}

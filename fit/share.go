package fit

import "injtab/fit/internal/lsq"

// share does something for each of n injectors, on all processors.
func share(n int, do func(g int)) {
	lsq.Share(n, leastShare, func(first, end int) {
		for g := first; g < end; g++ {
			do(g)
		}
	})
}

// leastShare: fewer injectors are not worth a processor.
const leastShare = 50

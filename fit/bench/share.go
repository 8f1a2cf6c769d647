package bench

import (
	"runtime"
	"sync"
)

// share gives the numbers below n in stretches to the processors. What is done for one
// must not bear on another, so that the result does not depend on how they are shared
// out. Checking a million readings, of which a third is done so, takes a fifth less time on
// two of them.
func share(n, least int, do func(first, end int)) {
	parts := max(1, min(n/least, runtime.GOMAXPROCS(0)))
	if parts == 1 {
		do(0, n)
		return
	}
	var work sync.WaitGroup
	for part := range parts {
		work.Go(func() { do(part*n/parts, (part+1)*n/parts) })
	}
	work.Wait()
}

// Fewer are not worth a processor.
const (
	leastInjectors = 50
	leastPairs     = 2000
)

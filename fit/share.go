package fit

import (
	"runtime"
	"sync"
)

// share gives the injectors below n in stretches to the processors. What is done for one
// must not bear on another, so that the result does not depend on how they are shared out.
func share(n int, do func(g int)) {
	parts := max(1, min(n/leastShare, runtime.GOMAXPROCS(0)))
	stretch := func(part int) {
		for g := part * n / parts; g < (part+1)*n/parts; g++ {
			do(g)
		}
	}
	if parts == 1 {
		stretch(0)
		return
	}
	var work sync.WaitGroup
	for part := range parts {
		work.Go(func() { stretch(part) })
	}
	work.Wait()
}

// leastShare: fewer injectors are not worth a processor.
const leastShare = 50

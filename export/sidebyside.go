package export

import (
	"io"
	"sync"
	"sync/atomic"
)

// sideBySide calls f with 0 to n-1, so many at a time, and gives the first error in that
// order; after one it begins no more.
func sideBySide(n, atATime int, f func(i int) error) error {
	errs := make([]error, n)
	var next atomic.Int64
	var failed atomic.Bool
	var wait sync.WaitGroup
	for range min(n, atATime) {
		wait.Go(func() {
			for i := int(next.Add(1)) - 1; i < n && !failed.Load(); i = int(next.Add(1)) - 1 {
				if errs[i] = f(i); errs[i] != nil {
					failed.Store(true)
				}
			}
		})
	}
	wait.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// A counter counts what passes.
type counter struct {
	to    io.Writer
	bytes uint64
}

func (c *counter) Write(p []byte) (int, error) {
	c.bytes += uint64(len(p))
	return c.to.Write(p)
}

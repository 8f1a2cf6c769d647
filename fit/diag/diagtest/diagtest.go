// Package diagtest holds what tests demand of everything that reads what a user
// wrote: an answer within bounds of time and memory, and errors that say where.
package diagtest

import (
	"runtime/metrics"
	"strings"
	"testing"
	"time"

	"injtab/fit/diag"
)

// What reading an input may take, far above what any has taken, so that only work
// out of all proportion to the input is caught.
const (
	most      = 5 * time.Second
	fixed     = 128 << 20 // bytes of memory handed out, whatever the input
	perByte   = 2000      // and for each byte of it
	allocated = "/gc/heap/allocs:bytes"
)

// Bounded runs read on an input of so many bytes, and fails the test if that takes
// more time or memory than is in proportion. It does not end what never ends: go
// test -fuzz gives up an input after ten seconds, go test after its -timeout.
func Bounded(t testing.TB, size int, read func()) {
	t.Helper()
	from, before := time.Now(), handedOut()
	read()
	if took := time.Since(from); took > most {
		t.Errorf("reading %d bytes took %v", size, took)
	}
	if n := handedOut() - before; n > fixed+perByte*uint64(size) {
		t.Errorf("reading %d bytes took %d MB of memory", size, n>>20)
	}
}

// handedOut is all the memory that the process was ever given, in bytes.
func handedOut() uint64 {
	sample := []metrics.Sample{{Name: allocated}}
	metrics.Read(sample)
	return sample[0].Value.Uint64()
}

// Notes gives the notes that an error is made of, and fails the test if it holds
// anything else, or a note without a place in the file, a code or a sentence.
func Notes(t testing.TB, err error, file string) []diag.Note {
	t.Helper()
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		var all []diag.Note
		for _, e := range joined.Unwrap() {
			all = append(all, Notes(t, e, file)...)
		}
		return all
	}
	n, ok := err.(diag.Note)
	switch {
	case !ok:
		t.Errorf("%v (%T) has no place", err, err)
		return nil
	case n.Severity != diag.Error, n.Code == "", !strings.Contains(n.Message, " "):
		t.Errorf("%+v is no error with a code and a sentence", n)
	case n.Place.File != file:
		t.Errorf("%+v is not placed in %s", n, file)
	}
	return []diag.Note{n}
}

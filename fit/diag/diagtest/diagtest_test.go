package diagtest

import (
	"errors"
	"testing"

	"injtab/fit/diag"
)

// A recorder is a test that only counts its failures.
type recorder struct {
	testing.TB
	failures int
}

func (r *recorder) Helper()               {}
func (r *recorder) Errorf(string, ...any) { r.failures++ }

var kept []byte

func TestBounded(t *testing.T) {
	var good, greedy recorder
	Bounded(&good, 10, func() { kept = make([]byte, 1<<20) })
	Bounded(&greedy, 10, func() { kept = make([]byte, 200<<20) })
	if kept = nil; good.failures != 0 || greedy.failures != 1 {
		t.Errorf("%d failures for 1 MB, %d for 200 MB", good.failures, greedy.failures)
	}
}

func TestNotes(t *testing.T) {
	at := diag.Place{File: "f.csv", Line: 3}
	good := diag.Fail(at, "code", "a sentence")
	for _, c := range []struct {
		err             error
		notes, failures int
	}{
		{good, 1, 0},
		{errors.Join(good, good), 2, 0},
		{errors.New("no place at all"), 0, 1},
		{errors.Join(good, errors.New("no place at all")), 1, 1},
		{diag.Fail(diag.Place{File: "other.csv"}, "code", "a sentence"), 1, 1},
		{diag.Fail(at, "", "a sentence"), 1, 1},
		{diag.Fail(at, "code", "word"), 1, 1},
		{diag.Note{Code: "code", Place: at, Message: "only a warning"}, 1, 1},
	} {
		var r recorder
		if n := Notes(&r, c.err, "f.csv"); len(n) != c.notes || r.failures != c.failures {
			t.Errorf("%v: %d notes, %d failures", c.err, len(n), r.failures)
		}
	}
}

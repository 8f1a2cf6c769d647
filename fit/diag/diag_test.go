package diag_test

import (
	"testing"

	"injtab/fit/diag"
)

func TestNoteIsASentenceWithItsPlace(t *testing.T) {
	at := diag.Place{File: "bench.xlsx", Sheet: "readings", Line: 7, Column: "volume_ml"}
	n := diag.Fail(at, "text", "%q was read where a number was expected", "ten")
	want := `bench.xlsx, sheet readings, line 7, column volume_ml: "ten" was read where a number was expected`
	if n.Error() != want {
		t.Errorf("got  %s\nwant %s", n.Error(), want)
	}
	if w := diag.Warn("x", "mind %d", 3); w.Error() != "mind 3" || w.Severity != diag.Warning {
		t.Errorf("a note without a place: %q, %v", w.Error(), w.Severity)
	}
}

func TestBasisAndStatusReadBack(t *testing.T) {
	for b := diag.Measured; b <= diag.Assumed; b++ {
		if got, ok := diag.ParseBasis(b.String()); !ok || got != b {
			t.Errorf("basis %s reads back as %v", b, got)
		}
	}
	for s := diag.OK; s <= diag.NotMeasured; s++ {
		if got, ok := diag.ParseStatus(s.String()); !ok || got != s {
			t.Errorf("status %s reads back as %v", s, got)
		}
		if s.HasValue() != (s == diag.OK || s == diag.Unreliable) {
			t.Errorf("status %s: HasValue is wrong", s)
		}
	}
	if _, ok := diag.ParseBasis("guessed"); ok {
		t.Error("an unknown basis was read")
	}
	if _, ok := diag.ParseStatus("fine"); ok {
		t.Error("an unknown status was read")
	}
}

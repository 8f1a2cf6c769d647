package engine

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"injtab/fit/diag/diagtest"
)

// FuzzReadFile: errors have their line; what is accepted is written and read again
// as the same, and sized with numbers alone.
func FuzzReadFile(f *testing.F) {
	f.Add(exampleFile)
	f.Add("power: |\n  200hp\n")
	f.Add("{cylinders: 4, power: 3kW}")
	files, err := filepath.Glob("../../testdata/bad/engine/*.yaml")
	if err != nil || len(files) == 0 {
		f.Fatalf("%d files, %v", len(files), err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(text))
	}
	f.Fuzz(func(t *testing.T, text string) {
		diagtest.Bounded(t, len(text), func() { mustReadFile(t, text) })
	})
}

func mustReadFile(t *testing.T, text string) {
	in, err := ReadFile(strings.NewReader(text), "x.yaml")
	if err != nil {
		for _, n := range diagtest.Notes(t, err, "x.yaml") {
			if n.Place.Line < 1 {
				t.Errorf("%+v names no line", n)
			}
		}
		return
	}
	var first, second bytes.Buffer
	if err := WriteFile(&first, in); err != nil {
		t.Fatal(err)
	}
	again, err := ReadFile(bytes.NewReader(first.Bytes()), "x.yaml")
	if err != nil {
		t.Fatalf("%q is written as %q: %v", text, &first, err)
	}
	if err := WriteFile(&second, again); err != nil || first.String() != second.String() {
		t.Errorf("%q, then %q: %v", &first, &second, err)
	}
	if result, err := Size(in); err == nil {
		if _, err := json.Marshal(result); err != nil { // which refuses NaN and infinity
			t.Errorf("%q is sized with %v", text, err)
		}
	}
}

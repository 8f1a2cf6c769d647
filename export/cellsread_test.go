package export

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// TestCellsInAnyOrder: cells.csv says the same of the tables in the order of the tables,
// which is read without holding it, and in any other.
func TestCellsInAnyOrder(t *testing.T) {
	dir, _ := sampleFolder(t)
	want, err := ReadFolder(dir)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "cells.csv")
	ordered := func() bool {
		f := Folder{Tables: slices.Clone(want.Tables)}
		ok, err := readFile(path, f.inOrder)
		if err != nil {
			t.Fatal(err)
		}
		return ok
	}
	if !ordered() {
		t.Error("the file as it was written is not in the order of its tables")
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.SplitAfter(strings.TrimSuffix(string(data), "\n"), "\n")
	lines[len(lines)-1] += "\n"
	slices.Reverse(lines[1:])
	mustWrite(t, path, strings.Join(lines, ""))
	if ordered() {
		t.Error("lines from the last to the first pass for ordered ones")
	}
	got, err := ReadFolder(dir)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want.Tables, got.Tables); diff != "" {
		t.Errorf("the order of cells.csv changes what it says:\n%s", diff)
	}
}

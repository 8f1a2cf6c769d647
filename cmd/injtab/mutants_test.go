package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
)

// TestMutantsFollowTheCode: every fault that is planted in the long run can still be
// planted, its test is there, and the list for developers names both.
func TestMutantsFollowTheCode(t *testing.T) {
	const root = "../.."
	read := func(path string) string {
		t.Helper()
		text, err := os.ReadFile(filepath.Join(root, path))
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	var list []struct{ Wrong, File, Old, New, Test string }
	if err := yaml.UnmarshalWithOptions([]byte(read(".ci/mutants/mutants.yaml")), &list, yaml.Strict()); err != nil {
		t.Fatal(err)
	}
	if len(list) < 20 {
		t.Errorf("only %d faults", len(list))
	}
	known := read("DEVELOPERS.md")
	for _, m := range list {
		if n := strings.Count(read(m.File), m.Old); n != 1 || m.Old == m.New {
			t.Errorf("%s: %q stands %d times in %s", m.Wrong, m.Old, n, m.File)
		}
		pkg, test, _ := strings.Cut(m.Test, " ")
		files, err := filepath.Glob(filepath.Join(root, pkg, "*_test.go"))
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, file := range files {
			text, err := os.ReadFile(file)
			found = found || err == nil && strings.Contains(string(text), "func "+test+"(")
		}
		if !found {
			t.Errorf("%s: %s has no test %s", m.Wrong, pkg, test)
		}
		if row := "| " + m.Wrong + " | `" + pkg + "` " + test + " |"; !strings.Contains(known, row) {
			t.Errorf("DEVELOPERS.md has no line %s", row)
		}
	}
}

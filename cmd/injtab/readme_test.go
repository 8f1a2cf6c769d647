package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"injtab/fit/sim"
)

// TestReadmePictures: the pictures of the README are what the program draws of the
// demonstration.
func TestReadmePictures(t *testing.T) {
	dir := t.TempDir()
	bench := filepath.Join(dir, "bench.csv")
	if err := os.WriteFile(bench, sim.DemoCSV(), 0o644); err != nil {
		t.Fatal(err)
	}
	var out, errs bytes.Buffer
	if code := run([]string{"report", bench, "--plots", filepath.Join(dir, "pictures")}, strings.NewReader(""), &out, &errs); code != done {
		t.Fatalf("exit code %d: %s", code, errs.String())
	}
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"deviation.svg", "dead_time.svg"} {
		got, err := os.ReadFile(filepath.Join(dir, "pictures", name))
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join("../../testdata/readme", name)
		if *update {
			if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, got, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(path)
		if err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s is not what the program draws now (%v): run go test ./cmd/injtab -run Pictures -update", path, err)
		}
		if !bytes.Contains(readme, []byte("testdata/readme/"+name)) {
			t.Errorf("the README does not show %s", name)
		}
	}
}

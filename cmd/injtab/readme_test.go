package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

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

// TestReadmeScreens runs the commands behind a "$ " in the README, in order, in an
// empty folder, and compares what stands below each with what it writes. The first is
// the whole screen of the demonstration.
func TestReadmeScreens(t *testing.T) {
	path, err := filepath.Abs("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	const open, shut = "```console\n", "```\n"
	parts := strings.Split(string(text), open)
	if len(parts) < 3 || !strings.HasPrefix(parts[1], "$ injtab demo\n") {
		t.Fatalf("the README has %d screens, expected the demonstration and another", len(parts)-1)
	}
	for i, part := range parts[1:] {
		command, _, _ := strings.Cut(part, "\n")
		_, rest, ok := strings.Cut(part, shut)
		if !ok {
			t.Fatalf("%s: the block does not end", command)
		}
		parts[i+1] = command + "\n" + call(t, strings.TrimPrefix(command, "$ ")) + shut + rest
	}
	got := strings.Join(parts, open)
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	} else if diff := cmp.Diff(string(text), got); diff != "" {
		t.Errorf("the README does not show what the program writes now: run go test ./cmd/injtab -run ReadmeScreens -update\n%s", diff)
	}
}

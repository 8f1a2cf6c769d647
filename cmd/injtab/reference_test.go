package main

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the golden files anew")

const referenceFile = "../../testdata/reference/reference.md"

// TestReferenceIsCurrent: the committed reference is what the verbs say of themselves.
func TestReferenceIsCurrent(t *testing.T) {
	pages := referencePages((&app{}).root())
	for _, p := range pages {
		path := filepath.Join(filepath.Dir(referenceFile), p.Name)
		if *update {
			if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, p.Data, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(path)
		if err != nil || !bytes.Equal(want, p.Data) {
			t.Errorf("%s is not current (%v): run go test ./cmd/injtab -run Reference -update", p.Name, err)
		}
	}
}

// TestCompletion asks as a shell does.
func TestCompletion(t *testing.T) {
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"__complete", "tables", "--fuel", ""}, "E85\n"},
		{[]string{"__complete", "tables", "--print", "dead"}, "dead_time\n"},
		{[]string{"__complete", "match", "bench.csv", "--print", ""}, "match_points\n"},
		{[]string{"__complete", "size", "--regulator", ""}, "fixed\n"},
		{[]string{"__complete", "check", "--fail-on", ""}, "leaking\n"},
		{[]string{"__complete", "check", ""}, "csv\nxlsx\n:8\n"},
		{[]string{"__complete", "verify", ""}, ":16\n"},
		{[]string{"__complete", "ma"}, "match\t"},
	} {
		var out, errs bytes.Buffer
		if code := run(c.args, strings.NewReader(""), &out, &errs); code != done || !strings.Contains(out.String(), c.want) {
			t.Errorf("%v: exit code %d, %q; want %q in it", c.args, code, out.String(), c.want)
		}
	}
	for _, args := range [][]string{{"completion"}, {"completion", "abacus"}} {
		var out, errs bytes.Buffer
		if code := run(args, strings.NewReader(""), &out, &errs); code != wrongUsage || out.Len() > 0 || !strings.Contains(errs.String(), "name the shell") {
			t.Errorf("%v: exit code %d, %q, %q", args, code, out.String(), errs.String())
		}
	}
	for _, shell := range []string{"bash", "zsh", "fish", "powershell"} {
		var out, errs bytes.Buffer
		if code := run([]string{"completion", shell}, strings.NewReader(""), &out, &errs); code != done || out.Len() < 500 {
			t.Errorf("completion %s: exit code %d, %d bytes, %s", shell, code, out.Len(), errs.String())
		}
	}
}

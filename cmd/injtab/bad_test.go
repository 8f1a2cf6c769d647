package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// badDir holds one file a mistake that people make, and what the program says to it.
const badDir = "../../testdata/bad"

// A said is what a command said and with which exit code it ended.
type said struct {
	code     int
	out, err string
}

func say(args ...string) said {
	var out, err bytes.Buffer
	code := run(args, strings.NewReader(""), &out, &err)
	return said{code, out.String(), err.String()}
}

// golden is the text to compare: messages, of a report the answer alone, exit code.
func (s said) golden() string {
	text := s.err
	if s.code == done {
		text += answer(s.out)
	}
	return fmt.Sprintf("%sexit %d\n", text, s.code)
}

// answer is the first paragraph below the title.
func answer(report string) string {
	parts := strings.SplitN(report, "\n\n", 3)
	if len(parts) < 3 || !strings.Contains(parts[0], "\n==") {
		return ""
	}
	return parts[1] + "\n"
}

// TestBadFiles reads every bad file as a mechanic would have it read and compares
// what he is told with the golden file of its kind: the first word of its name.
func TestBadFiles(t *testing.T) {
	names, err := filepath.Glob(filepath.Join(badDir, "bench", "*.csv"))
	if err != nil || len(names) < 120 {
		t.Fatalf("%d bad files, %v", len(names), err)
	}
	golden := newSections(t, "bench")
	t.Chdir(filepath.Join(badDir, "bench"))
	for _, path := range names {
		name := filepath.Base(path)
		t.Run(name, func(t *testing.T) { golden.compare(t, name, say("check", name)) })
	}
	golden.finish(t)
}

// sections are the golden texts of a folder's files, several in one file so that
// they can be read through: "== name" and what was said.
type sections struct {
	dir  string
	want map[string]string
	seen map[string]string
}

func newSections(t *testing.T, dir string) *sections {
	t.Helper()
	abs, err := filepath.Abs(filepath.Join(badDir, "said"))
	if err != nil {
		t.Fatal(err)
	}
	s := &sections{filepath.Join(abs, dir), map[string]string{}, map[string]string{}}
	files, err := filepath.Glob(filepath.Join(s.dir, "*.txt"))
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range files {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		for _, part := range strings.Split("\n"+string(data), "\n== ")[1:] {
			name, text, _ := strings.Cut(part, "\n")
			s.want[name] = strings.TrimSuffix(text, "\n") + "\n"
		}
	}
	return s
}

// compare demands the golden text, and of every error a place and a remedy.
func (s *sections) compare(t *testing.T, name string, got said) {
	t.Helper()
	s.seen[name] = got.golden()
	if diff := cmp.Diff(s.want[name], s.seen[name]); diff != "" && !*update {
		t.Errorf("(-want +got; -update writes it anew):\n%s", diff)
	}
	mustHelp(t, name, got)
}

// mustHelp demands the file's name in each error, and something to do behind it.
func mustHelp(t *testing.T, name string, got said) {
	t.Helper()
	if got.code != done && got.code != badInput {
		t.Errorf("exit code %d", got.code)
	}
	for line := range strings.Lines(got.err) {
		text, isError := strings.CutPrefix(line, "injtab: error: ")
		if !isError {
			continue
		}
		if place, rest, ok := strings.Cut(text, ": "); !ok || !strings.HasPrefix(place, name) || len(rest) < 20 {
			t.Errorf("no place in %q", line)
		}
	}
	if got.code == badInput && got.err == "" {
		t.Error("nothing was said")
	}
}

// finish writes the golden files anew, or complains of texts without a file.
func (s *sections) finish(t *testing.T) {
	t.Helper()
	if !*update {
		for name := range s.want {
			if _, ok := s.seen[name]; !ok {
				t.Errorf("%s: there is a golden text %q but no such case", s.dir, name)
			}
		}
		return
	}
	kinds := map[string][]string{}
	for name := range s.seen {
		kind, _, _ := strings.Cut(name, "_")
		kinds[kind] = append(kinds[kind], name)
	}
	if err := os.MkdirAll(s.dir, 0o777); err != nil {
		t.Fatal(err)
	}
	for kind, names := range kinds {
		slices.Sort(names)
		var b strings.Builder
		for _, name := range names {
			fmt.Fprintf(&b, "== %s\n%s", name, s.seen[name])
		}
		if err := os.WriteFile(filepath.Join(s.dir, kind+".txt"), []byte(b.String()), 0o666); err != nil {
			t.Fatal(err)
		}
	}
}

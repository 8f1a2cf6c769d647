package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestExamplesRun runs every command of the README and every line of the examples
// that --help shows, on the files of the demonstration.
func TestExamplesRun(t *testing.T) {
	readme, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	call(t, "injtab demo")
	lines := exampleLines(string(readme))
	if len(lines) < 9 {
		t.Errorf("the README has only %d commands", len(lines))
	}
	for _, line := range lines[1:] { // the first is the demonstration
		call(t, line)
	}
	a := &app{}
	for _, verb := range a.root().Commands() {
		lines := exampleLines(verb.Example)
		if len(lines) == 0 && verb.Name() != "help" {
			t.Errorf("%s has no example", verb.Name())
		}
		for _, line := range lines {
			if line != "injtab demo" {
				call(t, line)
			}
		}
	}
}

var remark = regexp.MustCompile(` {3,}.*$`)

// exampleLines are the commands of an example, without the remarks behind them.
func exampleLines(example string) (lines []string) {
	for line := range strings.Lines(example) {
		line = remark.ReplaceAllString(strings.TrimSpace(line), "")
		if strings.HasPrefix(line, "injtab ") {
			lines = append(lines, line)
		}
	}
	return lines
}

// call runs a command line as a shell would split it.
func call(t *testing.T, line string) string {
	t.Helper()
	var out, err bytes.Buffer
	if code := run(words(line)[1:], strings.NewReader(""), &out, &err); code != done {
		t.Errorf("%s: exit code %d: %s", line, code, err.String())
	}
	return out.String()
}

// words splits a line at blanks that are not within single quotes.
func words(line string) (list []string) {
	for i, part := range strings.Split(line, "'") {
		if i%2 == 1 {
			list = append(list, part)
		} else {
			list = append(list, strings.Fields(part)...)
		}
	}
	return list
}

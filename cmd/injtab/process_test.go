package main

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// program is the program as a process of its own; TestMain puts it into the path.
func program(dir string, args ...string) *exec.Cmd {
	c := exec.Command("injtab", args...)
	c.Dir = dir
	return c
}

// execute runs the program to its end.
func execute(t *testing.T, c *exec.Cmd) said {
	t.Helper()
	var out bytes.Buffer
	got := executeInto(t, &out, c)
	got.out = out.String()
	return got
}

// executeInto runs the program with this as its standard output.
func executeInto(t *testing.T, out io.Writer, c *exec.Cmd) said {
	t.Helper()
	var err bytes.Buffer
	c.Stdout, c.Stderr = out, &err
	if e := c.Run(); e != nil && c.ProcessState == nil {
		t.Fatal(e)
	}
	return said{code: c.ProcessState.ExitCode(), err: err.String()}
}

// long tells whether the tests that take minutes were asked for.
func long() bool { return os.Getenv("INJTAB_LONG") != "" }

// smallSession is a bench file that is worked on in a tenth of a second; with
// another title it is another input and makes other files.
func smallSession(t *testing.T, title string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "bench", "good", "wide.csv"))
	if err != nil {
		t.Fatal(err)
	}
	return append([]byte("# title = "+title+"\n"), bytes.ReplaceAll(data, []byte("# title ="), []byte("#"))...)
}

func put(t *testing.T, path string, data []byte) {
	t.Helper()
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
}

// temporaries are the names in a folder that only a run in progress may have.
func temporaries(t *testing.T, dir string) (names []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".") {
			names = append(names, e.Name())
		}
	}
	return names
}

// firstError is the first that is one.
func firstError(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

package export

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// endedProcess is the number of a process that is no more.
func endedProcess(t *testing.T) int {
	t.Helper()
	c := exec.Command(os.Args[0], "-test.run=^$")
	if err := c.Run(); err != nil {
		t.Fatal(err)
	}
	return c.Process.Pid
}

func TestLeftoversOfKilledRunsAreRemoved(t *testing.T) {
	dir := t.TempDir()
	prefix, dead := temporaryPrefix(), endedProcess(t)
	gone := []string{fmt.Sprintf("%s%d-0", prefix, dead), fmt.Sprintf("%s%d-17/a.csv", prefix, dead)}
	kept := []string{
		fmt.Sprintf(".injtab-other_machine-%d-0", dead),
		fmt.Sprintf("%s%d-0", prefix, os.Getppid()), // being written
		fmt.Sprintf("%s%d", prefix, dead),
		fmt.Sprintf("%s%d-0-copy", prefix, dead),
		fmt.Sprintf("%s%d-x", prefix, dead),
		fmt.Sprintf("my%s%d-0", prefix, dead),
		prefix + "0-0", prefix + "-1-0", prefix + "notes",
	}
	for _, name := range append(gone, kept...) {
		mustWrite(t, filepath.Join(dir, name), "half")
	}
	if err := (Output{Path: filepath.Join(dir, "a.csv")}).File(put("whole")); err != nil {
		t.Fatal(err)
	}
	for _, name := range gone {
		if _, err := os.Stat(filepath.Join(dir, name)); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%s was left: %v", name, err)
		}
	}
	for _, name := range kept {
		wantFile(t, filepath.Join(dir, name), "half")
	}
}

func TestNewNameIsNeverTaken(t *testing.T) {
	for name, rename := range map[string]func(a, b string) error{"one step": renameNew, "steps": renameNewBySteps} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			a, b := filepath.Join(dir, "a"), filepath.Join(dir, "b")
			mustWrite(t, a, "new")
			mustWrite(t, b, "theirs")
			if err := rename(a, b); !errors.Is(err, fs.ErrExist) {
				t.Errorf("got %v", err)
			}
			wantFile(t, b, "theirs")
			if err := rename(a, filepath.Join(dir, "c")); err != nil {
				t.Error(err)
			}
			wantOnly(t, dir, "b", "c")
		})
	}
}

// TestQuickerRunKeepsItsOutput lets somebody else write the output while this run
// is at work.
func TestQuickerRunKeepsItsOutput(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.csv")
	err := Output{Path: path}.File(func(w io.Writer) error {
		mustWrite(t, path, "theirs")
		return put("ours")(w)
	})
	wantError(t, err, "written by somebody else in the meantime")
	wantFile(t, path, "theirs")
	wantOnly(t, dir, "a.csv")
}

//go:build linux

package main

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// endless gives a letter again and again, up to a gigabyte.
func endless(letter string) io.Reader {
	return io.LimitReader(repeated(letter[0]), 1<<30)
}

type repeated byte

func (r repeated) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = byte(r)
	}
	return len(p), nil
}

const largeHead = "injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v\n"

// TestLineOfAGigabyte sends lines without an end through a pipe, as header, as
// a cell, as a setup line and within quotation marks: each is refused with its line,
// and no memory is taken for it.
func TestLineOfAGigabyte(t *testing.T) {
	for name, c := range map[string]struct {
		head, line, letter string
	}{
		"header":     {"", "line 1", "x"},
		"separators": {"", "line 1", ","},
		"cell":       {largeHead, "line 2", "7"},
		"setup":      {"# title = x\n# note = ", "line 2", " "},
		"quoted":     {largeHead + "1,2,3,4,5,6,7\n\"", "line 3", "q"},
	} {
		t.Run(name, func(t *testing.T) {
			p := program(t.TempDir(), "check", "-")
			p.Stdin = io.MultiReader(strings.NewReader(c.head), endless(c.letter))
			got := execute(t, p)
			if got.code != badInput || !strings.Contains(got.err, c.line+": the line has more than 1 MB") {
				t.Errorf("exit %d, %s", got.code, got.err)
			}
			mustBeSmall(t, p)
		})
	}
}

// mustBeSmall demands that a process took less than 150 MB.
func mustBeSmall(t *testing.T, p *exec.Cmd) {
	t.Helper()
	if kb := p.ProcessState.SysUsage().(*syscall.Rusage).Maxrss; kb > 150<<10 {
		t.Errorf("%d MB of memory were taken", kb>>10)
	}
}

// TestInputWithoutEnd reads from what never ends.
func TestInputWithoutEnd(t *testing.T) {
	dir := t.TempDir()
	if got := execute(t, program(dir, "tables", write(t, dir, "bench.csv", smallSession(t, "first")), "-o", "tables")); got.code != done {
		t.Fatal(got.err)
	}
	const bench, engine = "bench.csv", "/dev/zero"
	for _, args := range [][]string{
		{"check", "/dev/zero"}, {"compare", bench, "/dev/zero"}, {"verify", "tables", "/dev/zero"},
		{"size", "--engine", engine}, {"tables", bench, "-o", "new", "--axis-file", "/dev/zero"},
	} {
		p := program(dir, args...)
		if got := execute(t, p); got.code != badInput && got.code != wrongUsage {
			t.Errorf("%v: exit %d, %s", args, got.code, got.err)
		}
		mustBeSmall(t, p)
	}
}

// TestBoundIsChangeable: what is too large by default is read where the user says so.
func TestBoundIsChangeable(t *testing.T) {
	dir := t.TempDir()
	long := append(smallSession(t, "first"), bytes.Repeat([]byte("\n"), 2<<20)...)
	write(t, dir, "bench.csv", long)
	for _, c := range []struct {
		mb, want string
		code     int
	}{
		{"", "", done},
		{"1", "more than 1 MB, which no bench session needs: is it the right file? If so, set the environment variable INJTAB_MAX_MB", badInput},
		{"3", "", done},
		{"much", `INJTAB_MAX_MB is "much": expected a whole number of megabytes`, wrongUsage},
		{"0", "expected a whole number", wrongUsage},
		{"-4", "expected a whole number", wrongUsage},
	} {
		p := program(dir, "check", "bench.csv")
		p.Env = append(os.Environ(), "INJTAB_MAX_MB="+c.mb)
		if got := execute(t, p); got.code != c.code || !strings.Contains(got.err, c.want) {
			t.Errorf("%q: exit %d, %s", c.mb, got.code, got.err)
		}
	}
}

// write puts a file into a folder and gives its name.
func write(t *testing.T, dir, name string, data []byte) string {
	t.Helper()
	put(t, filepath.Join(dir, name), data)
	return name
}

//go:build linux

package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"injtab/fit/sim"
)

// TestKeepsToItself watches the system calls of every verb: none may open a socket or
// start another program, and no file may be made but below the outputs that are named.
func TestKeepsToItself(t *testing.T) {
	strace, err := exec.LookPath("strace")
	if err != nil && os.Getenv("CI_REQUIRE") != "" {
		t.Fatal(err)
	}
	t.Parallel()
	root := t.TempDir()
	home, temp, here := filepath.Join(root, "home"), filepath.Join(root, "temp"), filepath.Join(root, "here")
	if err := firstError(os.Mkdir(home, 0o777), os.Mkdir(temp, 0o777), os.Mkdir(here, 0o777)); err != nil {
		t.Fatal(err)
	}
	put(t, filepath.Join(here, "bench.csv"), sim.DemoCSV())
	env := append(os.Environ(), "HOME="+home, "TMPDIR="+temp, "XDG_CACHE_HOME="+home, "XDG_CONFIG_HOME="+home, "USERPROFILE="+home)
	for _, args := range append(slices.Clone(wholeWork), []string{"completion", "bash"}, []string{"help"}, []string{"nonsense"}) {
		c := program(here, args...)
		log := filepath.Join(root, "log")
		if strace != "" {
			c = exec.Command(strace, append([]string{"-f", "-qq", "-o", log, "-e", "trace=%network,execve,fork,vfork", "injtab"}, args...)...)
			c.Dir = here
		}
		c.Env = env
		if got := execute(t, c); got.code != done && args[0] != "nonsense" {
			t.Fatalf("%v: exit %d, %s", args, got.code, got.err)
		}
		if strace != "" {
			onlyItself(t, args, log)
		}
	}
	for _, dir := range []string{home, temp} {
		if left := listing(t, dir); len(left) > 0 {
			t.Errorf("files in %s: %v", dir, left)
		}
	}
	entries, err := os.ReadDir(here)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if !slices.Contains([]string{"bench.csv", "injtab-demo", "pictures", "match.xlsx", "tables", "page.html", "form.xlsx", "reference"}, e.Name()) {
			t.Errorf("%s was written, which no command named", e.Name())
		}
	}
	if strace == "" {
		t.Skip("skipped: without strace nothing tells whether the network was asked; files were looked for")
	}
}

var systemCall = regexp.MustCompile(`(?m)^\d+ +(\w+)\(.*$`)

// onlyItself demands that the first call, which starts the program, is the only one.
func onlyItself(t *testing.T, args []string, log string) {
	t.Helper()
	data, err := os.ReadFile(log)
	if err != nil {
		t.Fatal(err)
	}
	calls := systemCall.FindAllString(string(data), -1)
	if len(calls) != 1 || !strings.Contains(calls[0], "execve(") {
		t.Errorf("%v: %q", args, calls)
	}
}

// TestNoNetworkInOurCode: no file of ours imports what could ask the network or start
// a program.
func TestNoNetworkInOurCode(t *testing.T) {
	seen := 0
	for _, top := range []string{"cmd", "export", "fit", "tables"} {
		err := filepath.WalkDir(filepath.Join("..", "..", top), func(file string, d fs.DirEntry, err error) error {
			if err != nil || !strings.HasSuffix(file, ".go") || strings.HasSuffix(file, "_test.go") {
				return err
			}
			seen++
			tree, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ImportsOnly)
			if err != nil {
				return err
			}
			for _, i := range tree.Imports {
				if name, err := strconv.Unquote(i.Path.Value); err != nil || name == "net" || strings.HasPrefix(name, "net/") || name == "os/exec" || name == "plugin" || strings.HasPrefix(name, "golang.org/x/net") {
					t.Errorf("%s imports %s", file, name)
				}
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if seen < 200 {
		t.Errorf("only %d files were looked at", seen)
	}
}

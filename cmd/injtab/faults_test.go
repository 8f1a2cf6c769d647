//go:build linux

package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"injtab/export"
	"injtab/fit/sim"
)

// TestKilledAnywhere kills the program two hundred times (thirty without
// INJTAB_LONG), at chosen moments over its whole run and while it writes. Whatever
// the moment, the folder is the old one or the new one as a whole, and so is a
// page. A run that is asked to end leaves nothing else behind; one that is killed
// can't help leaving its temporary.
func TestKilledAnywhere(t *testing.T) {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "a.csv"), smallSession(t, "first"))
	put(t, filepath.Join(dir, "b.csv"), smallSession(t, "second"))
	var whole [2]map[string]string
	started := time.Now()
	for i, name := range []string{"a.csv", "b.csv"} {
		if got := execute(t, program(dir, "tables", name, "-o", "out", "--force")); got.code != done {
			t.Fatal(got.err)
		}
		whole[i] = listing(t, filepath.Join(dir, "out"))
	}
	took := time.Since(started) / 2
	rounds, random := 30, rand.New(rand.NewPCG(2024, 7))
	if long() {
		rounds = 200
	}
	reached := [2]int{}
	for round := range rounds {
		signal := []os.Signal{os.Kill, syscall.SIGTERM, os.Interrupt}[round%3]
		before := temporaries(t, dir)
		moment := time.Duration(random.Int64N(int64(took)))
		if round%2 == 0 { // while it writes
			moment = -time.Duration(random.Int64N(int64(took / 20)))
		}
		stopAt(t, program(dir, "tables", []string{"a.csv", "b.csv"}[random.IntN(2)], "-o", "out", "--force"), dir, len(before), moment, signal)
		got := listing(t, filepath.Join(dir, "out"))
		switch {
		case cmp.Equal(got, whole[0]):
			reached[0]++
		case cmp.Equal(got, whole[1]):
			reached[1]++
		default:
			t.Fatalf("round %d, %v at %v: the folder is neither the old one nor the new one:\n%s", round, signal, moment, cmp.Diff(whole[0], got))
		}
		if after := temporaries(t, dir); signal != os.Kill && len(after) > len(before) {
			t.Fatalf("round %d, %v at %v: left behind: %v", round, signal, moment, after)
		}
	}
	t.Logf("%d kills, the folder was of the first input %d times, of the second %d times; left by kills: %d", rounds, reached[0], reached[1], len(temporaries(t, dir)))
}

// stopAt starts a command and sends it a signal after a moment; a negative moment
// counts from when the command begins to write beside its output.
func stopAt(t *testing.T, c *exec.Cmd, dir string, temps int, moment time.Duration, signal os.Signal) {
	t.Helper()
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	end := make(chan error, 1)
	go func() { end <- c.Wait() }()
	if moment < 0 {
		for len(temporaries(t, dir)) <= temps {
			select {
			case <-end: // it was done before anybody saw it write
				return
			case <-time.After(50 * time.Microsecond):
			}
		}
		moment = -moment
	}
	select {
	case <-end:
	case <-time.After(moment):
		c.Process.Signal(signal)
		<-end
	}
}

// TestDiskFull writes to a file system that has no room: a sentence, the old output
// whole, nothing left behind.
func TestDiskFull(t *testing.T) {
	dir := t.TempDir()
	if os.Geteuid() != 0 {
		t.Skip("skipped: only the superuser can mount the small file system that this test fills")
	}
	if err := syscall.Mount("none", dir, "tmpfs", 0, "size=192k"); err != nil {
		t.Skipf("skipped: no small file system can be mounted here: %v", err)
	}
	defer syscall.Unmount(dir, syscall.MNT_DETACH)
	put(t, filepath.Join(dir, "bench.csv"), smallSession(t, "first"))
	put(t, filepath.Join(dir, "page.html"), []byte("old"))
	put(t, filepath.Join(dir, "filler"), bytes.Repeat([]byte("x"), 120<<10))
	before := listing(t, dir)
	for _, args := range [][]string{
		{"tables", "bench.csv", "-o", "out"},
		{"report", "bench.csv", "-o", "page.html", "--force"},
		{"demo", "-o", "demo"},
	} {
		got := execute(t, program(dir, args...))
		if got.code != badInput || !strings.Contains(got.err, "no space left on device") {
			t.Errorf("%v: exit %d, %s", args, got.code, got.err)
		}
		if diff := cmp.Diff(before, listing(t, dir)); diff != "" {
			t.Errorf("%v: (-before +after):\n%s", args, diff)
		}
		if left := temporaries(t, dir); left != nil {
			t.Errorf("%v: left behind: %v", args, left)
		}
	}
}

// TestOutputThatTakesNothing: a full device or a closed pipe as standard output.
func TestOutputThatTakesNothing(t *testing.T) {
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Skipf("skipped: %v", err)
	}
	defer full.Close()
	dir := t.TempDir()
	put(t, filepath.Join(dir, "bench.csv"), smallSession(t, "first"))
	for _, form := range []string{"--json", "--markdown", "--csv", "--ascii"} {
		c := program(dir, "check", "bench.csv", form)
		var message bytes.Buffer
		c.Stdout, c.Stderr = full, &message
		c.Run()
		if code := c.ProcessState.ExitCode(); code != badInput || !strings.Contains(message.String(), "no space left") {
			t.Errorf("%s: exit %d, %s", form, code, message.String())
		}
	}
}

// TestNoPermission runs the program as nobody in places that are not nobody's.
func TestNoPermission(t *testing.T) {
	if os.Geteuid() != 0 {
		t.Skip("skipped: only the superuser can run the program as somebody else")
	}
	dir, path := everybodys(t), copyProgram(t)
	put(t, filepath.Join(dir, "bench.csv"), smallSession(t, "first"))
	put(t, filepath.Join(dir, "secret.csv"), smallSession(t, "first"))
	put(t, filepath.Join(dir, "page.html"), []byte("old"))
	if err := os.Chmod(filepath.Join(dir, "secret.csv"), 0); err != nil {
		t.Fatal(err)
	}
	before := listing(t, dir)
	for want, args := range map[string][]string{
		"secret.csv can't be read: permission denied": {"check", "secret.csv"},
		"out can't be written: permission denied":     {"tables", "bench.csv", "-o", "out"},
		"page.html can't be written: permission":      {"report", "bench.csv", "-o", "page.html", "--force"},
	} {
		c := program(dir, args...)
		c.Path = path
		c.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
		if got := execute(t, c); got.code != badInput || !strings.Contains(got.err, want) {
			t.Errorf("%v: exit %d, %s", args, got.code, got.err)
		}
	}
	if diff := cmp.Diff(before, listing(t, dir)); diff != "" {
		t.Errorf("(-before +after):\n%s", diff)
	}
}

// everybodys makes a folder that everybody may enter.
func everybodys(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "everybodys")
	if err := firstError(err, os.Chmod(dir, 0o755)); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	return dir
}

// copyProgram copies the program to where everybody may run it.
func copyProgram(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath("injtab")
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	at := filepath.Join(everybodys(t), "injtab")
	if err := firstError(err, os.WriteFile(at, data, 0o755), os.Chmod(at, 0o755)); err != nil {
		t.Fatal(err)
	}
	return at
}

// TestOddInputs: what stands where a bench file should.
func TestOddInputs(t *testing.T) {
	dir := t.TempDir()
	data := smallSession(t, "first")
	put(t, filepath.Join(dir, "bench.csv"), data)
	if err := firstError(os.Mkdir(filepath.Join(dir, "folder"), 0o777), os.Symlink("nowhere.csv", filepath.Join(dir, "dangling.csv")),
		os.Symlink("bench.csv", filepath.Join(dir, "link.csv")), os.Symlink("loop.csv", filepath.Join(dir, "loop.csv"))); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{
		"folder":          "folder is a folder: name a file in it",
		"folder/":         "folder/ is a folder: name a file in it",
		"bench.csv/":      "bench.csv/ can't be read: not a directory",
		"dangling.csv":    "dangling.csv does not exist",
		"loop.csv":        "loop.csv can't be read: too many levels of symbolic links",
		"/dev/null":       "/dev/null: the file is empty",
		"folder/none.csv": "folder/none.csv does not exist",
	} {
		if got := execute(t, program(dir, "check", name)); got.code != badInput || !strings.Contains(got.err, want) {
			t.Errorf("%q: exit %d, %s", name, got.code, got.err)
		}
	}
	want := execute(t, program(dir, "check", "bench.csv", "--json"))
	for _, c := range []*exec.Cmd{program(dir, "check", "link.csv", "--json"), fromPipe(t, dir, data)} {
		got := execute(t, c)
		got.out = strings.ReplaceAll(strings.ReplaceAll(got.out, "link.csv", "bench.csv"), "pipe.csv", "bench.csv")
		if diff := cmp.Diff(want.out, got.out); diff != "" {
			t.Errorf("%v (-file +got): %s", c.Args, diff)
		}
	}
}

// fromPipe is a command that reads a named pipe, which somebody fills in pieces.
func fromPipe(t *testing.T, dir string, data []byte) *exec.Cmd {
	t.Helper()
	path := filepath.Join(dir, "pipe.csv")
	if err := syscall.Mkfifo(path, 0o600); err != nil {
		t.Skipf("skipped: %v", err)
	}
	go func() {
		f, err := os.OpenFile(path, os.O_WRONLY, 0)
		if err != nil {
			return
		}
		defer f.Close()
		for len(data) > 0 {
			n := min(97, len(data))
			f.Write(data[:n])
			data = data[n:]
		}
	}()
	return program(dir, "check", "pipe.csv", "--json")
}

// TestOutputIsTheInput: under whatever name, the input is never written, and no link
// is followed to what it points at.
func TestOutputIsTheInput(t *testing.T) {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "bench.csv"), smallSession(t, "first"))
	put(t, filepath.Join(dir, "precious.html"), []byte("precious"))
	if err := firstError(os.Link(filepath.Join(dir, "bench.csv"), filepath.Join(dir, "hard.csv")), os.Symlink("bench.csv", filepath.Join(dir, "soft.csv")),
		os.Symlink("precious.html", filepath.Join(dir, "link.html")), os.Mkdir(filepath.Join(dir, "real"), 0o777),
		os.Symlink("real", filepath.Join(dir, "link")), os.Symlink("gone", filepath.Join(dir, "dangling"))); err != nil {
		t.Fatal(err)
	}
	before := listing(t, dir)
	for _, c := range []struct{ input, output, want string }{
		{"bench.csv", "bench.csv", "is the input"},
		{"bench.csv", "./real/../bench.csv", "is the input"},
		{"bench.csv", "hard.csv", "is the input"},
		{"hard.csv", "bench.csv", "is the input"},
		{"soft.csv", "bench.csv", "is the input"},
		{"bench.csv", "soft.csv", "is a link"},
		{"bench.csv", "link.html", "is a link"},
		{"bench.csv", "dangling", "is a link"},
	} {
		got := execute(t, program(dir, "report", c.input, "-o", c.output, "--force"))
		if got.code != badInput || !strings.Contains(got.err, c.want) {
			t.Errorf("report %s -o %s: exit %d, %s", c.input, c.output, got.code, got.err)
		}
	}
	for _, folder := range []string{"link", "dangling"} {
		got := execute(t, program(dir, "tables", "bench.csv", "-o", folder, "--force"))
		if got.code != badInput || !strings.Contains(got.err, "is a link") {
			t.Errorf("tables -o %s: exit %d, %s", folder, got.code, got.err)
		}
	}
	if diff := cmp.Diff(before, listing(t, dir)); diff != "" {
		t.Errorf("(-before +after):\n%s", diff)
	}
}

// TestTwoAtOnce lets several runs write one folder at the same time: one of them
// wins, the others say why they don't, the folder is whole.
func TestTwoAtOnce(t *testing.T) {
	for _, force := range []bool{false, true} {
		t.Run(fmt.Sprintf("force=%v", force), func(t *testing.T) {
			dir := t.TempDir()
			const runs = 6
			results := make([]said, runs)
			var group sync.WaitGroup
			for i := range runs {
				name := fmt.Sprintf("%d.csv", i)
				put(t, filepath.Join(dir, name), smallSession(t, name))
				args := []string{"tables", name, "-o", "out"}
				if force {
					args = append(args, "--force")
				}
				group.Go(func() { results[i] = execute(t, program(dir, args...)) })
			}
			group.Wait()
			won := 0
			for i, got := range results {
				if got.code == done {
					won++
				} else if got.code != badInput || !strings.Contains(got.err, "injtab: error: ") {
					t.Errorf("run %d: exit %d, %s", i, got.code, got.err)
				}
			}
			if won == 0 || !force && won != 1 {
				t.Errorf("%d of %d runs say that they wrote the folder: %+v", won, runs, results)
			}
			m, err := export.ReadManifest(filepath.Join(dir, "out"))
			if err != nil {
				t.Fatal(err)
			}
			if state, err := m.Check(filepath.Join(dir, "out")); err != nil || state.Edited != nil || state.Missing != nil {
				t.Errorf("the folder is a mixture: %+v, %v", state, err)
			}
			if left := temporaries(t, dir); left != nil {
				t.Errorf("left behind: %v", left)
			}
		})
	}
}

// TestReadOnlyFolder: a folder without the right to write is left alone, by the
// superuser too.
func TestReadOnlyFolder(t *testing.T) {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "bench.csv"), sim.DemoCSV())
	shut := filepath.Join(dir, "shut")
	if err := firstError(os.Mkdir(shut, 0o777), os.WriteFile(filepath.Join(shut, "page.html"), []byte("old"), 0o444), os.Chmod(shut, 0o555)); err != nil {
		t.Fatal(err)
	}
	defer os.Chmod(shut, 0o777)
	for _, args := range [][]string{
		{"tables", "bench.csv", "-o", "shut/out"},
		{"tables", "bench.csv", "-o", "shut/new/out"},
		{"report", "bench.csv", "-o", "shut/new.html"},
		{"report", "bench.csv", "-o", "shut/page.html", "--force"},
		{"plan", "--injectors", "4", "--slots", "4", "--flow", "300ml/min", "--vessel", "100ml", "-o", "shut/form.xlsx"},
		{"demo", "-o", "shut/demo"},
	} {
		got := execute(t, program(dir, args...))
		if got.code != badInput || !strings.Contains(got.err, "is read-only; make it writable, or name another output") {
			t.Errorf("%v: exit %d, %s", args, got.code, got.err)
		}
	}
	if got := listing(t, shut); len(got) != 1 {
		t.Errorf("the folder holds %v", got)
	}
}

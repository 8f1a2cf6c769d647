//go:build linux

package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"injtab/export"
	"injtab/fit/sim"
)

// An outcome is a command that replaces an output, in two editions.
type outcome struct {
	name     string
	editions [2][]string
}

var outcomes = []outcome{
	{"out", [2][]string{{"tables", "a.csv"}, {"tables", "b.csv"}}},
	{"page.html", [2][]string{{"report", "a.csv"}, {"report", "b.csv"}}},
	{"form.csv", [2][]string{planned("300ml/min"), planned("310ml/min")}},
	{"form.xlsx", [2][]string{planned("300ml/min"), planned("310ml/min")}},
	{"pictures", [2][]string{pictured("185kW"), pictured("190kW")}},
	{"book.xlsx", [2][]string{{"match", "a.csv", "--of", "2"}, {"match", "b.csv", "--of", "3"}}},
}

func planned(flow string) []string {
	return []string{"plan", "--purpose", "match", "--injectors", "4", "--slots", "4", "--vessel", "100ml", "--flow", flow}
}

func pictured(power string) []string {
	return []string{"size", "--cylinders", "6", "--rpm", "5200", "--plot", "pictures", "--power", power}
}

// command writes an edition.
func (o outcome) command(dir string, edition int) *exec.Cmd {
	args := append(slices.Clone(o.editions[edition]), "--force")
	if !slices.Contains(args, o.name) {
		args = append(args, "-o", o.name)
	}
	return program(dir, args...)
}

// TestKilledAnywhere kills the program two hundred times (thirty without
// INJTAB_LONG), at chosen moments over its whole run and while it writes. Whatever
// the moment, the output is the old one or the new one as a whole. A run that is
// asked to end leaves nothing else behind; what one that is killed leaves, the next
// removes.
func TestKilledAnywhere(t *testing.T) {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "a.csv"), smallSession(t, "first"))
	put(t, filepath.Join(dir, "b.csv"), smallSession(t, "second"))
	each := 5
	if long() {
		each = 34
	}
	for i, o := range outcomes {
		t.Run(o.name, func(t *testing.T) {
			killAnywhere(t, dir, o, each, rand.New(rand.NewPCG(2024, uint64(i))))
		})
	}
}

func killAnywhere(t *testing.T, dir string, o outcome, rounds int, random *rand.Rand) {
	path := filepath.Join(dir, o.name)
	var whole [2]map[string]string
	started := time.Now()
	for edition := range whole {
		if got := execute(t, o.command(dir, edition)); got.code != done {
			t.Fatal(got.err)
		}
		whole[edition] = listing(t, path)
	}
	if cmp.Equal(whole[0], whole[1]) {
		t.Fatal("both editions are the same, so nothing can be told")
	}
	took := time.Since(started) / 2
	var reached [2]int
	left := 0
	for round := range rounds {
		signal := []os.Signal{os.Kill, syscall.SIGTERM, os.Kill, os.Interrupt}[round%4]
		if o.name == "book.xlsx" && signal == os.Interrupt {
			signal = syscall.SIGHUP // an interrupt ends the search of match, which then writes the best so far
		}
		moment := time.Duration(random.Int64N(int64(took)))
		if round%3 != 2 { // while it writes
			moment = -time.Duration(random.Int64N(int64(2 * time.Millisecond)))
		}
		stopAt(t, o.command(dir, random.IntN(2)), dir, moment, signal)
		edition := slices.IndexFunc(whole[:], func(w map[string]string) bool { return cmp.Equal(w, listing(t, path)) })
		if edition < 0 {
			t.Fatalf("round %d, %v at %v: neither the old one nor the new one:\n%s", round, signal, moment, cmp.Diff(whole[0], listing(t, path)))
		}
		reached[edition]++
		if signal == os.Kill {
			left += len(temporaries(t, dir))
			execute(t, o.command(dir, edition))
		}
		if after := temporaries(t, dir); after != nil {
			t.Fatalf("round %d, %v at %v: left behind: %v", round, signal, moment, after)
		}
	}
	t.Logf("%d kills, then the first edition %d times, the second %d times; %d temporaries left by kills and removed", rounds, reached[0], reached[1], left)
}

// stopAt starts a command and sends it a signal after a moment; a negative moment
// counts from when the command begins to write beside its output.
func stopAt(t *testing.T, c *exec.Cmd, dir string, moment time.Duration, signal os.Signal) {
	t.Helper()
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	end := make(chan error, 1)
	go func() { end <- c.Wait() }()
	if moment < 0 {
		for temporaries(t, dir) == nil {
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
	if err := syscall.Mount("none", dir, "tmpfs", 0, "size=256k"); err != nil {
		t.Skipf("skipped: no small file system can be mounted here: %v", err)
	}
	defer syscall.Unmount(dir, syscall.MNT_DETACH)
	put(t, filepath.Join(dir, "bench.csv"), smallSession(t, "first"))
	put(t, filepath.Join(dir, "page.html"), []byte("old"))
	if got := execute(t, program(dir, "tables", "bench.csv", "-o", "tables")); got.code != done {
		t.Fatal(got.err)
	}
	put(t, filepath.Join(dir, "filler"), bytes.Repeat([]byte("x"), 100<<10))
	before := listing(t, dir)
	const nothing, as = "no space left on device; nothing was left there", "no space left on device; the old one stays as it was"
	for _, c := range []struct {
		want string
		args []string
	}{
		{nothing, []string{"tables", "bench.csv", "-o", "new/out"}},
		{as, []string{"tables", "bench.csv", "-o", "tables", "--force"}},
		{nothing, []string{"report", "bench.csv", "-o", "new.html"}},
		{as, []string{"report", "bench.csv", "-o", "page.html", "--force"}},
		{nothing, []string{"report", "bench.csv", "--plots", "pictures"}},
		{nothing, []string{"demo", "-o", "demo"}},
	} {
		args := c.args
		got := execute(t, program(dir, args...))
		if got.code != badInput || !strings.Contains(got.err, c.want) {
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
		got := executeInto(t, full, program(dir, "check", "bench.csv", form))
		if got.code != badInput || !strings.Contains(got.err, "standard output can't be written: no space left") {
			t.Errorf("%s: exit %d, %s", form, got.code, got.err)
		}
	}
	for _, args := range [][]string{{"tables", "bench.csv", "-o", "out"}, {"report", "bench.csv", "-o", "out"}} {
		got := executeInto(t, full, program(dir, append(args, "--force")...))
		if got.code != badInput || !strings.Contains(got.err, "out was written before that, and is whole") {
			t.Errorf("%v: exit %d, %s", args, got.code, got.err)
		}
		if err := os.RemoveAll(filepath.Join(dir, "out")); err != nil {
			t.Fatal(err)
		}
	}
}

// TestSecondOutputFails has two outputs in one command, of which the second can't be
// written: it is told that the first one is.
func TestSecondOutputFails(t *testing.T) {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "bench.csv"), smallSession(t, "first"))
	// The pictures make a folder where the page should go.
	got := execute(t, program(dir, "report", "bench.csv", "-o", "out", "--plots", "out/pictures"))
	if got.code != badInput || !strings.Contains(got.err, "out is a folder") || !strings.Contains(got.err, "pictures was written before that") {
		t.Errorf("exit %d, %s", got.code, got.err)
	}
}

// TestInputsAreNotReplaced: a folder that any file was read from is not replaced,
// even if its manifest says that all of it was written by the program.
func TestInputsAreNotReplaced(t *testing.T) {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "bench.csv"), smallSession(t, "first"))
	if got := execute(t, program(dir, "demo")); got.code != done {
		t.Fatal(got.err)
	}
	put(t, filepath.Join(dir, "demo.csv"), sim.DemoCSV())
	put(t, filepath.Join(dir, "injtab-demo", "fit.txt"), []byte("voltage_v: 10, 12, 14\n"))
	before := listing(t, dir)
	const demo = "injtab-demo/"
	for _, args := range [][]string{
		{"tables", demo + "bench.csv", "-o", "injtab-demo"},
		{"tables", "bench.csv", "--axis-file", demo + "fit.txt", "-o", "injtab-demo"},
		{"fit", demo + "bench.csv", "--plot", "injtab-demo"},
		{"report", "demo.csv", "--engine", demo + "engine.yaml", "--plots", "injtab-demo"},
		{"report", "demo.csv", "--engine", demo + "engine.yaml", "-o", demo + "engine.yaml"},
		{"size", "--engine", demo + "engine.yaml", "--plot", "injtab-demo"},
		{"headroom", "--engine", demo + "engine.yaml", "--bench", demo + "bench.csv", "--plot", "injtab-demo"},
	} {
		got := execute(t, program(dir, append(args, "--force")...))
		if got.code != badInput || !strings.Contains(got.err, "the input") {
			t.Errorf("%v: exit %d, %s", args, got.code, got.err)
		}
	}
	if diff := cmp.Diff(before, listing(t, dir)); diff != "" {
		t.Errorf("(-before +after):\n%s", diff)
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

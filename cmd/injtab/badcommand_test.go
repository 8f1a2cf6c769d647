package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"injtab/export"
	"injtab/fit/sim"
)

// TestBadCommands runs the command lines of testdata/bad/commands, each behind a
// "$ " and below a remark that says what the mistake is, and compares what is said.
// No bad command may change the folder that it runs in.
func TestBadCommands(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(badDir, "commands", "*.txt"))
	if err != nil || len(files) < 8 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	for i := range files {
		if files[i], err = filepath.Abs(files[i]); err != nil {
			t.Fatal(err)
		}
	}
	workshop(t)
	before := listing(t, ".")
	commands := 0
	for _, path := range files {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		got, n := answered(t, string(text))
		commands += n
		if diff := cmp.Diff(string(text), got); diff != "" && !*update {
			t.Errorf("%s (-want +got; -update writes it anew):\n%s", filepath.Base(path), diff)
		}
		if *update {
			if err := os.WriteFile(path, []byte(got), 0o666); err != nil {
				t.Fatal(err)
			}
		}
	}
	if commands < 80 {
		t.Errorf("only %d commands", commands)
	}
	if diff := cmp.Diff(before, listing(t, ".")); diff != "" {
		t.Errorf("bad commands changed the folder (-before +after):\n%s", diff)
	}
}

// answered runs every command of a text and puts what it says below it.
func answered(t *testing.T, text string) (string, int) {
	t.Helper()
	var b strings.Builder
	commands := 0
	for line := range strings.Lines(text) {
		switch {
		case strings.HasPrefix(line, "#"), line == "\n":
			b.WriteString(line)
		case strings.HasPrefix(line, "$ injtab"):
			commands++
			b.WriteString(line)
			got := say(argsOf(t, strings.TrimSpace(strings.TrimPrefix(line, "$ injtab")))...)
			b.WriteString(got.golden())
			if got.code != done && !strings.Contains(got.err, "injtab: error: ") {
				t.Errorf("%sexit %d without an error", line, got.code)
			}
		}
	}
	return b.String(), commands
}

// argsOf cuts a command at its blanks outside quotes.
func argsOf(t *testing.T, line string) (list []string) {
	t.Helper()
	var quote rune
	var word strings.Builder
	started := false
	for _, r := range line + " " {
		switch {
		case quote == 0 && (r == '\'' || r == '"'):
			quote, started = r, true
		case r == quote:
			quote = 0
		case quote == 0 && r == ' ':
			if started {
				list = append(list, word.String())
			}
			word.Reset()
			started = false
		default:
			word.WriteRune(r)
			started = true
		}
	}
	if quote != 0 {
		t.Fatalf("a quote is open in %q", line)
	}
	return list
}

// workshop makes a folder with what bad commands are given and goes there: a bench
// file, tables made from it, edited and cut ones, files that stand in the way.
func workshop(t *testing.T) {
	t.Helper()
	engines, err := filepath.Abs(filepath.Join(badDir, "engine"))
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	write := func(path, text string) {
		t.Helper()
		if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o777), os.WriteFile(path, []byte(text), 0o666)); err != nil {
			t.Fatal(err)
		}
	}
	write("bench.csv", string(sim.DemoCSV()))
	write("no-fluid.csv", strings.Replace(string(sim.DemoCSV()), "# fluid = n-heptane\n", "", 1))
	write("one.csv", "injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v\n1,4,10,3000,46.5,300,13.5\n")
	write("other.csv", strings.Replace(string(sim.DemoCSV()), "80,", "81,", 1))
	write("dead.csv", "injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v\n1,4,10,3000,0,300,13.5\n2,4,10,3000,0,300,13.5\n")
	write("empty.csv", "")
	write("page.html", "a page that somebody wrote\n")
	write("form.xlsx", "a form that somebody filled in\n")
	write("notes/read me.txt", "keep\n")
	if err := os.CopyFS("engines", os.DirFS(engines)); err != nil {
		t.Fatal(err)
	}
	if got := say("tables", "bench.csv", "-o", "launch", "--of", "6", "--firing-order", "1-5-3-6-2-4"); got.code != done {
		t.Fatal(got.err)
	}
	for _, dir := range []string{"edited", "cut", "strange"} {
		if err := os.CopyFS(dir, os.DirFS("launch")); err != nil {
			t.Fatal(err)
		}
	}
	write("edited/flow.csv", "pressure_kpa,flow_ml_min\n300,250\n")
	write("strange/photo.txt", "not of the program\n")
	if err := os.Remove("cut/trims.csv"); err != nil {
		t.Fatal(err)
	}
	write("bare/"+export.ManifestName, "{}")
}

// listing is the hash of every file below a folder, and where every link points.
func listing(t *testing.T, dir string) map[string]string {
	t.Helper()
	list := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		if d.Type() == fs.ModeSymlink {
			list[path], err = os.Readlink(path)
			return err
		}
		data, err := os.ReadFile(path)
		list[path] = fmt.Sprintf("%d bytes, %s", len(data), export.Hash(data))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return list
}

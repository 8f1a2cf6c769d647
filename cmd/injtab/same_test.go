package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"injtab/export"
	"injtab/fit/sim"
)

// wholeWork are commands that between them write every kind of output, in the order that
// they can be run in.
var wholeWork = [][]string{
	{"demo"},
	{"check", "bench.csv", "--json"}, {"fit", "bench.csv", "--json"}, {"fit", "bench.csv", "--plot", "pictures"},
	{"match", "bench.csv", "--of", "3", "--sets", "2", "--json", "-o", "match.xlsx"},
	{"tables", "bench.csv", "-o", "tables", "--of", "6", "--firing-order", "1-5-3-6-2-4", "--each", "--json"},
	{"tables", "bench.csv", "--print", "dead_time"},
	{"verify", "tables", "bench.csv", "--hold-out", "every 5th", "--json"}, {"compare", "bench.csv", "bench.csv", "--markdown"},
	{"size", "--engine", "injtab-demo/engine.yaml", "--json"},
	{"headroom", "--bench", "bench.csv", "--engine", "injtab-demo/engine.yaml", "--json"},
	{"report", "bench.csv", "--engine", "injtab-demo/engine.yaml", "-o", "page.html", "--markdown"},
	{"plan", "--injectors", "4", "--slots", "4", "--flow", "300ml/min", "--vessel", "100ml", "-o", "form.xlsx", "--json"},
	{"fluids", "--json"}, {"reference", "-o", "reference"},
}

// everything runs the whole work in a new folder and gives what was written and said.
func everything(t *testing.T, path string, env ...string) map[string]string {
	t.Helper()
	dir := t.TempDir()
	put(t, filepath.Join(dir, "bench.csv"), sim.DemoCSV())
	all := map[string]string{}
	for _, args := range wholeWork {
		c := program(dir, args...)
		c.Env = append(os.Environ(), env...)
		if path != "" {
			words := append(strings.Fields(path), args...)
			c = exec.Command(words[0], words[1:]...)
			c.Dir = dir
		}
		got := execute(t, c)
		if got.code != done {
			t.Fatalf("%v: exit %d, %s", args, got.code, got.err)
		}
		all[fmt.Sprint(args)] = got.out + got.err
	}
	walk(t, dir, func(file string, data []byte) {
		name, err := filepath.Rel(dir, file)
		if err != nil {
			t.Fatal(err)
		}
		all[name] = string(data)
	})
	return all
}

// TestSameBytes: neither cores nor language, place, date, home or terminal change a
// byte of any output.
func TestSameBytes(t *testing.T) {
	t.Parallel()
	want := everything(t, "", "GOMAXPROCS=1", "LC_ALL=C", "TZ=UTC")
	others := [][]string{
		{"GOMAXPROCS=4", "LC_ALL=de_DE.UTF-8", "LANG=tr_TR.UTF-8", "TZ=Asia/Kathmandu", "SOURCE_DATE_EPOCH=1", "COLUMNS=40"},
		{"GOMAXPROCS=2", "LC_ALL=ar_EG.UTF-8", "TZ=America/St_Johns", "SOURCE_DATE_EPOCH=4102444800", "HOME=/nowhere", "TERM=xterm-256color", "GOGC=5"},
	}
	if !long() {
		others = others[:1]
	}
	for _, env := range others {
		got := everything(t, "", env...)
		for name := range want {
			if got[name] != want[name] {
				t.Errorf("%v: %s differs: %.500s", env, name, cmp.Diff(want[name], got[name]))
			}
		}
		if len(got) != len(want) {
			t.Errorf("%v: %d files, want %d", env, len(got), len(want))
		}
	}
}

// TestOtherProcessors builds the program for other processors and demands the numbers
// of all its tables, give or take one step of the last digit. amd64 multiplies and
// adds in two roundings, arm64 in one.
func TestOtherProcessors(t *testing.T) {
	if !long() {
		t.Skip("skipped: builds the program twice; INJTAB_LONG=1 runs it")
	}
	if runtime.GOOS != "linux" || runtime.GOARCH != "amd64" {
		t.Skip("skipped: only amd64 runs 386 too")
	}
	t.Parallel()
	want := everything(t, "")
	for arch, runner := range map[string]string{"386": "", "arm64": "qemu-aarch64-static "} {
		t.Run(arch, func(t *testing.T) {
			if _, err := exec.LookPath(strings.TrimSpace(runner)); runner != "" && err != nil {
				if os.Getenv("CI_REQUIRE") != "" {
					t.Fatal(err)
				}
				t.Skipf("skipped: %v", err)
			}
			path := filepath.Join(t.TempDir(), "injtab")
			build := exec.Command("go", "build", "-o", path, ".")
			build.Env = append(os.Environ(), "GOARCH="+arch, "CGO_ENABLED=0")
			if out, err := build.CombinedOutput(); err != nil {
				t.Fatalf("%v: %s", err, out)
			}
			got := everything(t, runner+path)
			tables := 0
			for name := range want {
				if filepath.Ext(name) == ".csv" {
					tables++
					sameNumbers(t, name, want[name], got[name])
				}
			}
			if tables < 20 {
				t.Errorf("only %d tables", tables)
			}
		})
	}
}

// sameNumbers compares tables cell by cell.
func sameNumbers(t *testing.T, name, want, got string) {
	t.Helper()
	a, b := cellsOf(t, name, want), cellsOf(t, name, got)
	if len(a) != len(b) {
		t.Errorf("%s: %d cells and %d", name, len(a), len(b))
		return
	}
	for i := range a {
		if !oneStep(a[i], b[i]) {
			t.Errorf("%s: cell %d is %s and %s", name, i+1, a[i], b[i])
		}
	}
}

// oneStep tells whether two numbers have the same digits give or take one of the last,
// and two texts are the same.
func oneStep(a, b string) bool {
	x, errX := strconv.ParseFloat(a, 64)
	y, errY := strconv.ParseFloat(b, 64)
	if errX != nil || errY != nil {
		return a == b
	}
	_, digits, _ := strings.Cut(a, ".")
	return math.Abs(x-y) <= 1.001*math.Pow10(-len(digits))
}

func TestOneStep(t *testing.T) {
	for _, c := range []struct {
		a, b string
		same bool
	}{{"1.25", "1.26", true}, {"1.25", "1.27", false}, {"12", "13", true}, {"12", "14", false}, {"-0.1", "0.1", false}, {"a", "a", true}, {"a", "1", false}, {"", "0", false}} {
		if oneStep(c.a, c.b) != c.same {
			t.Errorf("%s and %s", c.a, c.b)
		}
	}
}

// TestOutputsSayWhatMadeThem: every document for programs, page and folder names the
// program's version and the hash of each input.
func TestOutputsSayWhatMadeThem(t *testing.T) {
	t.Chdir(t.TempDir())
	put(t, "bench.csv", sim.DemoCSV())
	put(t, "engine.yaml", []byte(demoEngine))
	bench, engine := export.Hash(sim.DemoCSV()), export.Hash([]byte(demoEngine))
	for _, c := range []struct {
		args   []string
		hashes []string
	}{
		{[]string{"check", "bench.csv"}, []string{bench}}, {[]string{"fit", "bench.csv", "--plot", "pictures"}, []string{bench}},
		{[]string{"match", "bench.csv", "--of", "3"}, []string{bench}}, {[]string{"tables", "bench.csv", "-o", "tables"}, []string{bench}},
		{[]string{"tables", "bench.csv", "--print", "flow"}, []string{bench}}, {[]string{"verify", "tables", "bench.csv"}, []string{bench}},
		{[]string{"compare", "bench.csv", "bench.csv"}, []string{bench, bench}}, {[]string{"size", "--engine", "engine.yaml"}, []string{engine}},
		{[]string{"headroom", "--bench", "bench.csv", "--engine", "engine.yaml"}, []string{engine, bench}},
		{[]string{"report", "bench.csv", "--engine", "engine.yaml", "-o", "page.html"}, []string{bench, engine}}, {[]string{"fluids"}, nil},
	} {
		got := say(append(c.args, "--json")...)
		var doc struct {
			By   export.ToolInfo `json:"made_by"`
			From []export.Input  `json:"made_from"`
		}
		if err := json.Unmarshal([]byte(got.out), &doc); err != nil || doc.By.Version != export.Version {
			t.Errorf("%v: %v, made by %+v", c.args, err, doc.By)
		}
		var hashes []string
		for _, in := range doc.From {
			hashes = append(hashes, in.Hash)
		}
		if diff := cmp.Diff(c.hashes, hashes); diff != "" {
			t.Errorf("%v (-want +got):\n%s", c.args, diff)
		}
	}
	for _, path := range []string{"page.html", "tables/datapackage.json", "pictures/datapackage.json"} {
		data, err := os.ReadFile(path)
		if err != nil || !strings.Contains(string(data), strings.TrimPrefix(bench, "sha256:")) || !strings.Contains(string(data), export.Version) {
			t.Errorf("%s does not say what it was made from: %v", path, err)
		}
	}
}

package main

import (
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"injtab/fit/sim"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"injtab": main})
}

// TestScripts runs the program as people do. Each script begins with the bench
// file of the demonstration as bench.csv.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join("..", "..", "testdata", "script"),
		Setup: func(e *testscript.Env) error {
			return os.WriteFile(filepath.Join(e.WorkDir, "bench.csv"), sim.DemoCSV(), 0o666)
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"exits": exits, "haskeys": hasKeys, "seats": sameSeats},
	})
}

// exits CODE injtab ARGS… runs the program and demands its exit code.
func exits(ts *testscript.TestScript, _ bool, args []string) {
	code := 0
	var exit *exec.ExitError
	if err := ts.Exec(args[1], args[2:]...); errors.As(err, &exit) {
		code = exit.ExitCode()
	} else {
		ts.Check(err)
	}
	if strconv.Itoa(code) != args[0] {
		ts.Fatalf("exit code %d, want %s", code, args[0])
	}
}

// hasKeys FILE PATH… demands that a JSON document is one whole document and has a
// value at each path: keys and indexes with dots between them; "path=json" demands
// that value.
func hasKeys(ts *testscript.TestScript, neg bool, args []string) {
	var doc any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[0])), &doc))
	for _, path := range args[1:] {
		path, want, compared := strings.Cut(path, "=")
		got, ok := at(doc, strings.Split(path, "."))
		text, err := json.Marshal(got)
		ts.Check(err)
		if ok && (!compared || string(text) == want) == neg || !ok && !neg {
			ts.Fatalf("%s: found %v, value %.200s", path, ok, text)
		}
	}
}

func at(doc any, path []string) (any, bool) {
	if len(path) == 0 {
		return doc, true
	}
	switch x := doc.(type) {
	case map[string]any:
		inner, ok := x[path[0]]
		if !ok {
			return nil, false
		}
		return at(inner, path[1:])
	case []any:
		i, err := strconv.Atoi(path[0])
		if err != nil || i >= len(x) {
			return nil, false
		}
		return at(x[i], path[1:])
	}
	return nil, false
}

// sameSeats MATCH.json TRIMS.csv demands that the trims are for the first set, in
// its seats.
func sameSeats(ts *testscript.TestScript, _ bool, args []string) {
	var r struct {
		Sets []struct {
			Seats []struct {
				Cylinder int
				Injector string
			}
		}
	}
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[0])), &r))
	rows := strings.Split(strings.TrimSpace(ts.ReadFile(args[1])), "\n")[1:]
	if len(rows) != len(r.Sets[0].Seats) {
		ts.Fatalf("%d rows for %d seats", len(rows), len(r.Sets[0].Seats))
	}
	for _, s := range r.Sets[0].Seats {
		want := strconv.Itoa(s.Cylinder) + "," + s.Injector + ","
		if !slices.ContainsFunc(rows, func(row string) bool { return strings.HasPrefix(row, want) }) {
			ts.Fatalf("no row begins with %s", want)
		}
	}
}

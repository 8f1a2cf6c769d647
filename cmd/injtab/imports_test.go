package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// edges lists, for each room, the rooms of the module that it may import: always
// rooms further down. Rooms below an internal folder belong to the room above it.
var edges = map[string][]string{
	"cmd/injtab":    {"export", "tables/match", "tables/engine", "tables/plan", "tables", "fit", "fit/bench", "fit/fluid", "fit/unit", "fit/diag", "fit/sim"},
	"export":        {"tables", "fit/diag"},
	"tables/match":  {"tables", "fit/bench", "fit/fluid", "fit/unit", "fit/diag"},
	"tables/engine": {"tables", "fit", "fit/bench", "fit/fluid", "fit/unit", "fit/diag"},
	"tables/plan":   {"tables", "fit", "fit/bench", "fit/fluid", "fit/unit", "fit/diag"},
	"tables":        {"fit", "fit/bench", "fit/fluid", "fit/unit", "fit/diag"},
	"fit":           {"fit/bench", "fit/fluid", "fit/unit", "fit/diag", "fit/internal/lsq"},
	"fit/bench":     {"fit/fluid", "fit/unit", "fit/diag", "fit/internal/lsq"},
	"fit/fluid":     {"fit/unit"},
	"fit/sim":       {"fit/unit"},
	"fit/sim/gen":   {"fit/sim"},
	"fit/unit":      {},
	"fit/diag":      {},

	"fit/diag/diagtest": {"fit/diag"},
}

// TestImportsOnlyGoDown reads the imports of every file that is no test.
func TestImportsOnlyGoDown(t *testing.T) {
	root := filepath.Join("..", "..")
	seen := map[string]bool{}
	for _, top := range []string{"cmd", "export", "fit", "tables"} {
		err := filepath.WalkDir(filepath.Join(root, top), func(file string, d fs.DirEntry, err error) error {
			if err != nil || !strings.HasSuffix(file, ".go") || strings.HasSuffix(file, "_test.go") {
				return err
			}
			from, err := filepath.Rel(root, filepath.Dir(file))
			if err != nil {
				return err
			}
			seen[roomOf(filepath.ToSlash(from))] = true
			return checkImports(t, file, filepath.ToSlash(from))
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if !seen["cmd/injtab"] || !seen["fit/unit"] {
		t.Fatalf("the rooms were not found: %v", seen)
	}
}

func checkImports(t *testing.T, file, from string) error {
	tree, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ImportsOnly)
	if err != nil {
		return err
	}
	for _, imported := range tree.Imports {
		name, err := strconv.Unquote(imported.Path.Value)
		if err != nil {
			return err
		}
		to, ours := strings.CutPrefix(name, "injtab/")
		if ours && !allowed(from, to) {
			t.Errorf("%s: %s must not import %s", path.Base(file), from, to)
		}
	}
	return nil
}

// allowed tells whether one folder may import another: a listed edge, or within one
// room.
func allowed(from, to string) bool {
	room, known := roomOf(from), roomOf(to)
	return edges[room] != nil && (room == known || slices.Contains(edges[room], to) || slices.Contains(edges[room], known) && !strings.Contains(to, "/internal/"))
}

// roomOf is the folder above an internal one, or the folder itself.
func roomOf(folder string) string {
	if room, _, internal := strings.Cut(folder, "/internal/"); internal {
		return room
	}
	return folder
}

func TestAllowedEdges(t *testing.T) {
	for _, bad := range [][2]string{
		{"export", "fit"}, {"fit", "tables"}, {"tables", "export"}, {"fit/unit", "fit/bench"}, {"tables", "fit/sim"},
		{"tables", "fit/internal/lsq"}, {"tables/match", "tables/engine"}, {"fit/bench", "fit"}, {"export", "tables/match"}, {"new/room", "fit"},
	} {
		if allowed(bad[0], bad[1]) {
			t.Errorf("%s may import %s", bad[0], bad[1])
		}
	}
	for _, good := range [][2]string{{"fit", "fit/internal/lsq"}, {"tables/match", "tables/match/internal/pick"}, {"cmd/injtab", "export"}, {"fit/bench", "fit/internal/lsq"}} {
		if !allowed(good[0], good[1]) {
			t.Errorf("%s may not import %s", good[0], good[1])
		}
	}
}

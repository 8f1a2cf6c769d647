package export

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/google/go-cmp/cmp"

	"injtab/fit/diag"
	"injtab/tables"
)

func sampleFolder(t *testing.T) (string, []tables.Table) {
	t.Helper()
	list := []tables.Table{flow(), deadTime(), trims()}
	var files []NamedFile
	for _, table := range list {
		files = append(files, NamedFile{Name: table.Name + ".csv", Data: csvOf(t, table)})
	}
	cells, err := LargeFile("cells.csv", func(w io.Writer) error { return Cells(w, list) })
	if err != nil {
		t.Fatal(err)
	}
	files = append(files, cells, NamedFile{Name: "tables.xlsx", Data: []byte("stand-in")})
	manifest, err := NewManifest("Injector tables", "", []Input{NewInput("in/bench.csv", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad")}, list, files).JSON()
	if err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "tables")
	if err := (Output{Path: dir}).Folder(append(files, manifest)); err != nil {
		t.Fatal(err)
	}
	return dir, list
}

func TestManifestGolden(t *testing.T) {
	dir, _ := sampleFolder(t)
	data, err := os.ReadFile(filepath.Join(dir, ManifestName))
	if err != nil {
		t.Fatal(err)
	}
	golden(t, ManifestName, data)
}

// The digest of "abc" is the worked example of FIPS 180-4 for SHA-256 (NIST,
// Examples with Intermediate Values, from memory).
func TestHashOfThePublishedExample(t *testing.T) {
	want := "sha256:ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
	if got := Hash([]byte("abc")); got != want {
		t.Errorf("got %s", got)
	}
}

// What the Data Package, Tabular Data Resource and Table Schema specifications
// (version 1, specs.frictionlessdata.io, from memory) ask of a descriptor.
func TestManifestKeepsTheStandardsRules(t *testing.T) {
	dir, _ := sampleFolder(t)
	m, err := ReadManifest(dir)
	if err != nil {
		t.Fatal(err)
	}
	name, seen := regexp.MustCompile(`^[-a-z0-9._/]+$`), map[string]bool{}
	if !name.MatchString(m.Name) || m.Profile != "data-package" || len(m.Resources) == 0 {
		t.Errorf("package: %+v", m)
	}
	for _, r := range m.Resources {
		if !name.MatchString(r.Name) || seen[r.Name] || !regexp.MustCompile(`^sha256:[0-9a-f]{64}$`).MatchString(r.Hash) {
			t.Errorf("resource: %+v", r)
		}
		seen[r.Name] = true
		if (r.Profile == "tabular-data-resource") != (r.Schema != nil) {
			t.Errorf("profile and schema of %s", r.Name)
		}
		if r.Schema == nil {
			continue
		}
		if diff := cmp.Diff([]string{""}, r.Schema.MissingValues); diff != "" {
			t.Error(diff)
		}
		for _, f := range r.Schema.Fields {
			if f.Name == "" || f.Type != "number" && f.Type != "string" {
				t.Errorf("field of %s: %+v", r.Name, f)
			}
		}
	}
	only := NewManifest("", "", nil, []tables.Table{flow()}, []NamedFile{{Name: "flow.csv", Data: nil}})
	if only.Profile != "tabular-data-package" {
		t.Errorf("profile of CSV files alone: %s", only.Profile)
	}
	if got := resourceName("Plots/Größe 1.SVG"); got != "plots/gr--e-1.svg" {
		t.Errorf("name: %s", got)
	}
}

func TestFolderReadsBack(t *testing.T) {
	dir, want := sampleFolder(t)
	got, err := ReadFolder(dir)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(FolderState{}, got.State); diff != "" {
		t.Error(diff)
	}
	if len(got.Tables) != len(want) {
		t.Fatalf("%d tables", len(got.Tables))
	}
	for i, table := range got.Tables {
		for r, row := range table.Cells {
			for c, cell := range row {
				w := want[i].Cells[r][c]
				if cell.Basis != w.Basis || cell.Status != w.Status || halfWidth(cell, table.Cols[c]) != halfWidth(w, want[i].Cols[c]) || cellText(table, r, c) != cellText(want[i], r, c) {
					t.Errorf("%s, row %s, column %s: got %+v, want %+v", table.Name, rowText(table, r), table.Cols[c].Name, cell, w)
				}
			}
		}
		if table.Title != want[i].Title || table.Row.Unit != want[i].Row.Unit || table.Cols[0].UCUM != want[i].Cols[0].UCUM {
			t.Errorf("%s lost what describes it", table.Name)
		}
	}
}

func TestEditedAndMissingFilesAreNoticed(t *testing.T) {
	dir, _ := sampleFolder(t)
	path := filepath.Join(dir, "flow.csv")
	data, _ := os.ReadFile(path)
	mustWrite(t, path, string(bytes.Replace(data, []byte("500.2"), []byte("512"), 1)))
	if err := os.Remove(filepath.Join(dir, "trims.csv")); err != nil {
		t.Fatal(err)
	}
	got, err := ReadFolder(dir)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(FolderState{Edited: []string{"flow.csv"}, Missing: []string{"trims.csv"}}, got.State); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	edited := got.Tables[0].Cells[1][0]
	if diff := cmp.Diff(tables.Cell{Value: 512, Basis: diag.Assumed}, edited); diff != "" {
		t.Errorf("an edited cell still claims its basis: %s", diff)
	}
	if kept := got.Tables[0].Cells[2][0]; kept.Basis != diag.Measured || kept.CI95 == 0 {
		t.Errorf("an untouched cell lost its basis: %+v", kept)
	}
}

func TestFoldersThatCannotBeRead(t *testing.T) {
	cases := []struct{ file, text, want string }{
		{ManifestName, "{", "is damaged"},
		{ManifestName, `{"resources":[{"path":"../../etc/passwd","schema":{}}]}`, "outside the folder"},
		{"flow.csv", "pressure_kpa,flow_ml_min\n250,much\n", `flow.csv, line 2, column flow_ml_min: read "much"`},
		{"cells.csv", "a,b\n1,2\n", "cells.csv, line 1: expected the columns table, row"},
		{"cells.csv", "table,row,column,value,unit,ci95,basis,status\nflow,250,x,1,ml,-1,measured,ok\n", `column ci95: read "-1"`},
		{"cells.csv", "table,row,column,value,unit,ci95,basis,status\nflow,250,x,1,ml,,guessed,ok\n", `column basis: read "guessed"`},
		{"cells.csv", "table,row,column,value,unit,ci95,basis,status\nflow,250,x,1,ml,,measured,fine\n", `column status: read "fine"`},
	}
	for _, c := range cases {
		dir, _ := sampleFolder(t)
		mustWrite(t, filepath.Join(dir, c.file), c.text)
		_, err := ReadFolder(dir)
		wantError(t, err, c.want)
	}
	_, err := ReadFolder(t.TempDir())
	wantError(t, err, "has no datapackage.json")
}

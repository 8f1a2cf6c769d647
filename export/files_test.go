package export

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func put(text string) func(io.Writer) error {
	return func(w io.Writer) error { _, err := io.WriteString(w, text); return err }
}

func mustWrite(t *testing.T, path, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
}

func wantFile(t *testing.T, path, text string) {
	t.Helper()
	got, err := os.ReadFile(path)
	if err != nil || string(got) != text {
		t.Errorf("%s holds %q (%v), want %q", path, got, err, text)
	}
}

// wantOnly checks that a folder holds these files and no temporary.
func wantOnly(t *testing.T, dir string, want ...string) {
	t.Helper()
	got, err := listFiles(dir)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("files (-want +got):\n%s", diff)
	}
}

func wantError(t *testing.T, err error, want string) {
	t.Helper()
	if err == nil || !strings.Contains(err.Error(), want) {
		t.Errorf("got error %v, want one with %q", err, want)
	}
}

func TestFileIsWrittenAndReplacedOnlyWithForce(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "new", "deep", "a.csv")
	if err := (Output{Path: path}).File(put("one")); err != nil {
		t.Fatal(err)
	}
	wantError(t, Output{Path: path}.File(put("two")), "exists already; give --force")
	wantFile(t, path, "one")
	if err := os.Chmod(path, 0o640); err != nil {
		t.Fatal(err)
	}
	if err := (Output{Path: path, Replace: Force}).File(put("two")); err != nil {
		t.Fatal(err)
	}
	wantFile(t, path, "two")
	if info, _ := os.Stat(path); info.Mode().Perm() != 0o640 {
		t.Errorf("permissions became %v", info.Mode())
	}
	wantOnly(t, dir, "new/deep/a.csv")
}

func TestFailedWriteLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	failed := errors.New("pen broke")
	half := func(w io.Writer) error { io.WriteString(w, "half"); return failed }
	if err := (Output{Path: filepath.Join(dir, "x", "a.csv")}).File(half); !errors.Is(err, failed) {
		t.Errorf("got %v", err)
	}
	if _, err := os.Stat(filepath.Join(dir, "x")); err == nil {
		t.Error("the folder that was made for the file is left behind")
	}
	old := filepath.Join(dir, "old.csv")
	mustWrite(t, old, "whole")
	if err := (Output{Path: old, Replace: Force}).File(half); !errors.Is(err, failed) {
		t.Errorf("got %v", err)
	}
	wantFile(t, old, "whole")
	func() {
		defer func() { recover() }()
		Output{Path: old, Replace: Force}.File(func(io.Writer) error { panic("pen exploded") })
	}()
	wantOnly(t, dir, "old.csv")
	wantFile(t, old, "whole")
}

func TestPlacesThatCannotBeWritten(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	mustWrite(t, at("input.csv"), "readings")
	mustWrite(t, at("locked.csv"), "locked")
	mustWrite(t, at("full/file"), "x")
	for _, err := range []error{
		os.Chmod(at("locked.csv"), 0o444),
		os.Symlink(at("input.csv"), at("link.csv")),
		os.Symlink(at("nowhere"), at("dangling.csv")),
		os.Link(at("input.csv"), at("hard.csv")),
		os.Mkdir(at("closed"), 0o555),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	cases := map[string]string{
		"-":                   "no place to write to",
		"":                    "no output was named",
		at("link.csv"):        "is a link to another place",
		at("dangling.csv"):    "is a link to another place",
		at("locked.csv"):      "is read-only",
		at("full"):            "is a folder; name a file in it",
		at("new") + "/":       "is a folder; name a file in it",
		at("closed/a.csv"):    "closed is read-only",
		at("input.csv/a"):     "is a file, so nothing can be written below it",
		at("input.csv"):       "is the input; it is never written",
		at("hard.csv"):        "is the input; it is never written",
		at("./x/../link.csv"): "is a link to another place",
	}
	for path, want := range cases {
		o := Output{Path: path, Replace: Force, Inputs: []string{at("input.csv"), "-"}}
		wantError(t, o.File(put("new")), want)
	}
	if _, err := os.Stat("/dev/null"); err == nil {
		wantError(t, Output{Path: "/dev/null", Replace: Force}.File(put("")), "no ordinary file")
	}
	wantOnly(t, dir, "dangling.csv", "full/file", "hard.csv", "input.csv", "link.csv", "locked.csv")
	wantFile(t, at("input.csv"), "readings")
}

// outputs are files with the manifest that lists them.
func outputs(t *testing.T, files ...NamedFile) []NamedFile {
	t.Helper()
	manifest, err := NewManifest("", "", nil, nil, files).JSON()
	if err != nil {
		t.Fatal(err)
	}
	return append(files, manifest)
}

func TestFolderIsReplacedAsAWhole(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "deep", "tables")
	first := outputs(t, NamedFile{Name: "a.csv", Data: []byte("a1")}, NamedFile{Name: "sub/b.csv", Data: []byte("b1")})
	second := outputs(t, NamedFile{Name: "a.csv", Data: []byte("a2")})
	if err := (Output{Path: path}).Folder(first); err != nil {
		t.Fatal(err)
	}
	wantOnly(t, dir, "deep/tables/a.csv", "deep/tables/datapackage.json", "deep/tables/sub/b.csv")
	wantError(t, Output{Path: path}.Folder(second), "exists already; give --force")
	if err := (Output{Path: path + "/", Replace: IfUnedited}).Folder(second); err != nil {
		t.Fatal(err)
	}
	wantFile(t, filepath.Join(path, "a.csv"), "a2")
	wantOnly(t, dir, "deep/tables/a.csv", "deep/tables/datapackage.json")

	mustWrite(t, filepath.Join(path, "a.csv"), "edited by hand")
	wantError(t, Output{Path: path, Replace: IfUnedited}.Folder(first), "a.csv was edited")
	wantFile(t, filepath.Join(path, "a.csv"), "edited by hand")
	if err := (Output{Path: path, Replace: Force}).Folder(first); err != nil {
		t.Fatal(err)
	}
	wantFile(t, filepath.Join(path, "a.csv"), "a1")
	if entries, _ := os.ReadDir(filepath.Join(dir, "deep")); len(entries) != 1 {
		t.Errorf("left beside the folder: %v", entries)
	}
}

func TestFoldersThatAreNotReplaced(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	files := outputs(t, NamedFile{Name: "a.csv", Data: []byte("a")})
	for _, name := range []string{"ours", "mixed", "holds"} {
		if err := (Output{Path: at(name)}).Folder(files); err != nil {
			t.Fatal(err)
		}
	}
	mustWrite(t, at("mixed/notes.txt"), "mine")
	mustWrite(t, at("foreign/photo"), "mine")
	mustWrite(t, at("file"), "mine")
	mustWrite(t, at("damaged/datapackage.json"), "{")
	mustWrite(t, at("leaves/datapackage.json"), `{"resources":[{"path":"../file"}]}`)
	os.Symlink(at("ours"), at("link"))
	os.Mkdir(at("empty"), 0o777)
	before, _ := listFiles(dir)
	cases := map[string]string{
		"mixed":    "it holds notes.txt, which datapackage.json does not list",
		"foreign":  "no readable datapackage.json",
		"damaged":  "no readable datapackage.json",
		"leaves":   "no readable datapackage.json",
		"file":     "is a file, and a folder of that name is needed",
		"link":     "is a link to another place",
		"holds":    "holds the input",
		"file/sub": "is a file, so nothing can be written below it",
	}
	for name, want := range cases {
		o := Output{Path: at(name), Replace: Force, Inputs: []string{at("holds/a.csv")}}
		wantError(t, o.Folder(files), want)
	}
	wantOnly(t, dir, before...)
	if err := (Output{Path: at("empty")}).Folder(files); err != nil {
		t.Errorf("an empty folder may be filled: %v", err)
	}
}

func TestFailedFolderLeavesTheOldOne(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "tables")
	if err := (Output{Path: path}).Folder(outputs(t, NamedFile{Name: "a.csv", Data: []byte("a1")})); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"../up", "/abs", `..\up`, "a.csv", strings.Repeat("n", 300)} {
		bad := []NamedFile{{Name: "a.csv", Data: []byte("a2")}, {Name: name, Data: []byte("x")}}
		wantError(t, Output{Path: path, Replace: Force}.Folder(bad), "can't be written")
	}
	wantOnly(t, dir, "tables/a.csv", "tables/datapackage.json")
	wantFile(t, filepath.Join(path, "a.csv"), "a1")
	wantError(t, Output{Path: filepath.Join(dir, "new", "t")}.Folder([]NamedFile{{Name: "../up", Data: nil}}), "can't be written")
	wantOnly(t, dir, "tables/a.csv", "tables/datapackage.json")
}

func TestBothWaysToChangePlaces(t *testing.T) {
	for name, change := range map[string]func(a, b string) error{"one step": swap, "steps": swapBySteps} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			a, b := filepath.Join(dir, "a"), filepath.Join(dir, "b")
			mustWrite(t, a+"/new", "n")
			mustWrite(t, b+"/old", "o")
			if err := change(a, b); err != nil {
				t.Fatal(err)
			}
			wantOnly(t, dir, "a/old", "b/new")
		})
	}
	dir := t.TempDir()
	mustWrite(t, dir+"/b/old", "o")
	if err := swapBySteps(dir+"/missing", dir+"/b"); err == nil {
		t.Error("no error")
	}
	wantOnly(t, dir, "b/old")
}

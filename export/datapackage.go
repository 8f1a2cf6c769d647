package export

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"injtab/tables"
)

// ManifestName is the file that describes the others of a folder.
const ManifestName = "datapackage.json"

// A Manifest is a data package descriptor by the Data Package standard
// (specs.frictionlessdata.io, version 1), with three properties of our own:
// the inputs, the tool, and a unit for each field.
type Manifest struct {
	Profile     string     `json:"profile"`
	Name        string     `json:"name"`
	Title       string     `json:"title,omitempty"`
	Description string     `json:"description,omitempty"`
	Tool        ToolInfo   `json:"tool"`
	Inputs      []Input    `json:"inputs"`
	Resources   []Resource `json:"resources"`
}

// A ToolInfo names the program and its version.
type ToolInfo struct {
	Name    string `json:"name"`
	Version string `json:"version"`
}

// An Input is a file that the outputs were made from; Hash is "sha256:" and hex.
type Input struct {
	Name string `json:"name"`
	Hash string `json:"hash"`
}

// A Resource is one file of the folder.
type Resource struct {
	Profile     string  `json:"profile"`
	Name        string  `json:"name"`
	Path        string  `json:"path"`
	Title       string  `json:"title,omitempty"`
	Description string  `json:"description,omitempty"`
	Format      string  `json:"format,omitempty"`
	MediaType   string  `json:"mediatype,omitempty"`
	Encoding    string  `json:"encoding,omitempty"`
	Bytes       int     `json:"bytes"`
	Hash        string  `json:"hash"`
	Schema      *Schema `json:"schema,omitempty"`
}

// A Schema gives the columns of a CSV file.
type Schema struct {
	Fields        []Field  `json:"fields"`
	MissingValues []string `json:"missingValues"`
}

// A Field is one column; Unit is a code of the Unified Code for Units of Measure.
type Field struct {
	Name        string `json:"name"`
	Title       string `json:"title,omitempty"`
	Type        string `json:"type"`
	Description string `json:"description,omitempty"`
	Unit        string `json:"unit,omitempty"`
	UnitText    string `json:"unitText,omitempty"`
}

// Hash is the SHA-256 of the data as the standard writes it: "sha256:" and hex.
func Hash(data []byte) string {
	sum := sha256.Sum256(data)
	return hashText(sum[:])
}

func hashText(sum []byte) string { return fmt.Sprintf("sha256:%x", sum) }

// hashFile is the Hash of a file.
func hashFile(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	sum := sha256.New()
	_, err = io.Copy(sum, f)
	return hashText(sum.Sum(nil)), err
}

// NewInput names an input by the last part of its path; sha is its SHA-256, hexadecimal.
func NewInput(path, sha string) Input {
	return Input{Name: clean(filepath.Base(path)), Hash: "sha256:" + sha}
}

// NewManifest describes files; those called after a table (dead_time.csv) get its
// columns.
func NewManifest(title, about string, inputs []Input, list []tables.Table, files []NamedFile) Manifest {
	m := Manifest{
		Profile: "tabular-data-package", Name: "injector-tables", Title: title, Description: about,
		Tool: ToolInfo{Tool, Version}, Inputs: append([]Input{}, inputs...), Resources: []Resource{},
	}
	schemas := map[string]Resource{"cells.csv": cellsResource()}
	for _, t := range list {
		schemas[t.Name+".csv"] = tableResource(t)
	}
	for _, f := range files {
		r, tabular := schemas[f.Name]
		if !tabular {
			r.Profile, m.Profile = "data-resource", "data-package"
		}
		r.Name, r.Path = resourceName(f.Name), f.Name
		r.Bytes, r.Hash = f.measured()
		r.Format = strings.TrimPrefix(path.Ext(f.Name), ".")
		r.MediaType = mediaTypes[r.Format]
		m.Resources = append(m.Resources, r)
	}
	return m
}

var mediaTypes = map[string]string{
	"csv": "text/csv", "json": "application/json", "html": "text/html", "md": "text/markdown",
	"txt": "text/plain", "svg": "image/svg+xml", "png": "image/png",
	"xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}

// resourceName keeps to the letters that the standard allows.
func resourceName(file string) string {
	name := strings.TrimSuffix(strings.ToLower(file), ".csv")
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || strings.ContainsRune("-._/", r) {
			return r
		}
		return '-'
	}, name)
}

func tableResource(t tables.Table) Resource {
	first := field(corner(t), t.Row)
	if t.Grid() {
		first.Description = strings.TrimSpace(first.Description + " Each further column is headed by its breakpoint: " + grid(t.Across) + ".")
	}
	fields := []Field{first}
	for _, c := range t.Cols {
		fields = append(fields, field(c.Name, c))
	}
	return tabular(t.Title, t.About, fields)
}

// grid says what the breakpoints of a grid's columns are: "Pressure in kPa".
func grid(c tables.Column) string {
	name := c.Title
	if name == "" {
		name = c.Name
	}
	if c.Unit != "" {
		name += " in " + c.Unit
	}
	return name
}

func field(name string, c tables.Column) Field {
	f := Field{Name: name, Title: c.Title, Type: "number", Description: c.About, Unit: c.UCUM, UnitText: c.Unit}
	if c.Text {
		f.Type = "string"
	}
	return f
}

func tabular(title, about string, fields []Field) Resource {
	return Resource{
		Profile: "tabular-data-resource", Title: title, Description: about, Encoding: "utf-8",
		Schema: &Schema{Fields: fields, MissingValues: []string{""}},
	}
}

func cellsResource() Resource {
	const own = "in the column unit"
	return tabular("Every cell and what it rests on", "Each cell of the tables in long form. Rows of one text follow each other as in their table.", []Field{
		{Name: "table", Title: "Table", Type: "string", Description: "File that the cell stands in, without .csv."},
		{Name: "row", Title: "Row", Type: "string", Description: "Text of the first column; empty where no cylinder is assigned."},
		{Name: "column", Title: "Column", Type: "string", Description: "Text of the header."},
		{Name: "value", Title: "Value", Type: "string", Description: "The cell, a number but in columns of texts; empty where there is no value."},
		{Name: "unit", Title: "Unit", Type: "string", Description: "Unit of the value and of its interval; empty for pure numbers."},
		{Name: "ci95", Title: "95 % interval", Type: "number", UnitText: own, Description: "Half-width of the 95 % interval; empty where none applies."},
		{Name: "basis", Title: "Rests on", Type: "string", Description: "measured, interpolated, extrapolated or assumed."},
		{Name: "status", Title: "Status", Type: "string", Description: "ok, unreliable, does_not_open or not_measured."},
	})
}

// JSON is the manifest as a file to be written with those it describes.
func (m Manifest) JSON() (NamedFile, error) {
	var buf bytes.Buffer
	err := JSON(&buf, m)
	return NamedFile{Name: ManifestName, Data: buf.Bytes()}, err
}

// ReadManifest reads the manifest of a folder.
func ReadManifest(dir string) (Manifest, error) {
	data, err := os.ReadFile(filepath.Join(dir, ManifestName))
	if errors.Is(err, fs.ErrNotExist) {
		return Manifest{}, fmt.Errorf("folder %s has no %s, so it is not known what its tables were made from; build the tables again", dir, ManifestName)
	}
	if err != nil {
		return Manifest{}, fmt.Errorf("%s in folder %s can't be read: %w", ManifestName, dir, cause(err))
	}
	return parseManifest(data, dir)
}

// parseManifest reads the manifest of a folder from its text.
func parseManifest(data []byte, dir string) (m Manifest, err error) {
	if err := json.Unmarshal(data, &m); err != nil {
		return Manifest{}, fmt.Errorf("%s in folder %s is damaged (%v); build the tables again", ManifestName, dir, err)
	}
	for _, r := range m.Resources {
		if !filepath.IsLocal(filepath.FromSlash(r.Path)) {
			return Manifest{}, fmt.Errorf("%s in folder %s lists %s, which is outside the folder; build the tables again", ManifestName, dir, shown(r.Path))
		}
	}
	return m, nil
}

func (m Manifest) paths() []string {
	list := make([]string, len(m.Resources))
	for i, r := range m.Resources {
		list[i] = r.Path
	}
	return list
}

// FolderState is what became of the files that a manifest lists, by their paths.
type FolderState struct {
	Edited  []string // other bytes than were written
	Missing []string
}

// Check compares the files of a folder with the manifest.
func (m Manifest) Check(dir string) (FolderState, error) {
	var state FolderState
	for _, r := range m.Resources {
		hash, err := hashFile(filepath.Join(dir, filepath.FromSlash(r.Path)))
		switch {
		case errors.Is(err, fs.ErrNotExist):
			state.Missing = append(state.Missing, r.Path)
		case err != nil:
			return FolderState{}, fmt.Errorf("%s in folder %s can't be read: %w", r.Path, dir, cause(err))
		case hash != r.Hash:
			state.Edited = append(state.Edited, r.Path)
		}
	}
	return state, nil
}

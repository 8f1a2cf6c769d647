package tables

import (
	"fmt"
	"strconv"

	"injtab/fit/diag"
)

// A SetResult is a set of tables as programs read it.
type SetResult struct {
	Folder       string        `json:"folder,omitempty"`
	Files        []string      `json:"files,omitempty"`
	InputSHA256  string        `json:"input_sha256"`
	AtPressure   float64       `json:"at_pressure_kpa"`
	AtVoltage    float64       `json:"at_voltage_v"`
	VolumeFactor float64       `json:"volume_factor"`
	Injectors    []Seated      `json:"injectors"`
	Tables       []TableResult `json:"tables"`
	Verification *Verification `json:"verification,omitempty"`
	Warnings     []string      `json:"warnings"`

	set Set
}

// A Seated injector is one that the tables are for.
type Seated struct {
	Injector string `json:"injector"`
	Cylinder string `json:"cylinder"` // "" where none is assigned
}

// A TableResult is one table with what each cell rests on.
type TableResult struct {
	Name  string       `json:"name"`
	Title string       `json:"title"`
	About string       `json:"about"`
	Cells []CellResult `json:"cells"`
}

// A CellResult is one cell; row and column are the texts of the file.
type CellResult struct {
	Row    string   `json:"row"`
	Column string   `json:"column"`
	Value  *float64 `json:"value"` // null where the cell is empty or a text
	Text   string   `json:"text,omitempty"`
	Unit   string   `json:"unit"`
	CI95   float64  `json:"ci95"`
	Basis  string   `json:"basis"`
	Status string   `json:"status"`
}

// NewSetResult sums up a set of tables; notes are the findings of the bench file.
func NewSetResult(s Set, sha256 string, notes []diag.Note) SetResult {
	r := SetResult{
		InputSHA256: sha256, AtPressure: round(s.ReferenceP, 6), AtVoltage: round(s.ReferenceV, 6), VolumeFactor: s.VolumeFactor,
		Injectors: []Seated{}, Warnings: append(append([]string{}, sentences(notes)...), sentences(s.Notes)...), set: s,
	}
	if t, ok := s.Find("trims"); ok {
		for i, row := range t.Cells {
			r.Injectors = append(r.Injectors, Seated{Injector: row[0].Text, Cylinder: t.RowText[i]})
		}
	}
	for _, t := range s.Tables {
		r.Tables = append(r.Tables, NewTableResult(t))
	}
	return r
}

// NewTableResult lists a table's cells.
func NewTableResult(t Table) TableResult {
	out := TableResult{Name: t.Name, Title: t.Title, About: t.About, Cells: []CellResult{}}
	for r, row := range t.Cells {
		for c, x := range row {
			cell := CellResult{Row: rowName(t, r), Column: t.Cols[c].Name, Text: x.Text, Unit: t.Cols[c].Unit,
				CI95: x.CI95, Basis: x.Basis.String(), Status: x.Status.String()}
			if x.Status.HasValue() && !t.Cols[c].Text {
				cell.Value = &row[c].Value
			}
			out.Cells = append(out.Cells, cell)
		}
	}
	return out
}

func rowName(t Table, r int) string {
	if t.Row.Text {
		return t.RowText[r]
	}
	return number(t.RowAt[r])
}

// Report lays the result out, the answer first.
func (r SetResult) Report() Report {
	return Report{
		Title: "Tables", Answer: r.answer(), Facts: r.set.Facts,
		Sections: append([]Section{r.contents()}, r.Sections()...),
		Next:     r.next(), Cautions: Cautions(),
	}
}

// Summary is the report without the tables themselves, which are in the files.
func (r SetResult) Summary() Report {
	out := r.Report()
	out.Sections = out.Sections[:1]
	if t, ok := r.set.Find("trims"); ok {
		out.Sections = append(out.Sections, tableSection(t))
	}
	return out
}

func (r SetResult) answer() []string {
	seated := 0
	names := make([]string, len(r.Injectors))
	for i, x := range r.Injectors {
		names[i] = x.Injector
		if x.Cylinder != "" {
			seated++
		}
	}
	out := []string{fmt.Sprintf("Tables for injectors %s.", listed(names))}
	if r.Folder != "" {
		out[0] = fmt.Sprintf("%s written to %s: tables for injectors %s.", counted(len(r.Files), "file"), r.Folder, listed(names))
	}
	if seated == 0 {
		out = append(out, "No injector has a cylinder yet: --of K seats the best matched set, --seats 1=ID,2=ID,… seats by hand.")
	}
	if v := r.Verification; v != nil {
		out = append(out, v.sentence())
	}
	return out
}

func (r SetResult) next() []string {
	out := []string{
		"Type in flow, dead time and one short-pulse table, and the trims of one of the three forms: a pulse is u·(1 + trim) + short pulse + dead time, with u the wanted volume divided by the flow.",
	}
	if r.Folder != "" {
		out = append(out, fmt.Sprintf("Prove the files against readings: injtab verify %s BENCH", r.Folder))
	}
	return out
}

// contents lists the tables with their sizes and what their cells rest on.
func (r SetResult) contents() Section {
	var rows [][]string
	for _, t := range r.set.Tables {
		size := fmt.Sprintf("%d × %d", t.Rows(), len(t.Cols))
		rows = append(rows, []string{t.Name, t.Title, size, basisWords(t)})
	}
	return Section{Name: "contents", Heading: "The tables", Notes: r.set.Notes,
		Tables: []Table{textTable("contents", "Tables", "", []string{"file", "table", "size", "cells rest on"}, rows)}}
}

// basisWords counts a table's cells by what they rest on.
func basisWords(t Table) string {
	var by [diag.Assumed + 1]int
	empty := 0
	for _, row := range t.Cells {
		for c, cell := range row {
			switch {
			case t.Cols[c].Text:
			case cell.Status.HasValue():
				by[cell.Basis]++
			default:
				empty++
			}
		}
	}
	var words []string
	for b, n := range by {
		if n > 0 {
			words = append(words, strconv.Itoa(n)+" "+diag.Basis(b).String())
		}
	}
	if empty > 0 {
		words = append(words, strconv.Itoa(empty)+" empty")
	}
	return listed(words)
}

// Sections are the tables, each with its picture.
func (r SetResult) Sections() (out []Section) {
	for _, t := range r.set.Tables {
		if t.Name == "deviation" {
			if few, ok := shared(t); ok {
				out = append(out, Section{Name: t.Name, Heading: t.Title, Tables: []Table{few}})
			}
			continue
		}
		out = append(out, tableSection(t))
	}
	return out
}

// Sheets are all tables whole, each with its picture, for a workbook.
func (r SetResult) Sheets() (out []Section) {
	for _, t := range r.set.Tables {
		out = append(out, tableSection(t))
	}
	return out
}

// tableSection is one table with its picture.
func tableSection(t Table) Section {
	s := Section{Name: t.Name, Heading: t.Title, Tables: []Table{t}}
	if c, ok := ChartOf(t); ok {
		s.Charts = []Chart{c}
	}
	return s
}

// TableReport is one table alone.
func TableReport(t Table) Report {
	return Report{Title: t.Title, Sections: []Section{tableSection(t)}}
}

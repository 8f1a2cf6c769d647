package tables

import (
	"fmt"
	"slices"
	"strconv"

	"injtab/fit"
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
	Tables       []TableResult `json:"tables"` // as WithTables gives them
	Gains        []Gain        `json:"gains"`
	Rounding     Rounding      `json:"rounding"`
	Verification *Verification `json:"verification,omitempty"`
	Warnings     []string      `json:"warnings"`

	set   Set
	notes []diag.Note // of the bench file and of the tables
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
		Gains: append([]Gain{}, s.Gains...), Rounding: s.Rounding,
		Injectors: []Seated{}, Warnings: append(append([]string{}, sentences(notes)...), sentences(s.Notes)...), set: s,
		notes: append(append([]diag.Note{}, notes...), s.Notes...),
	}
	if t, ok := s.Find("trims"); ok {
		for i, row := range t.Cells {
			r.Injectors = append(r.Injectors, Seated{Injector: row[0].Text, Cylinder: t.RowText[i]})
		}
	}
	return r
}

// WithTables is the result with its tables cell by cell, for programs: of an archive they
// take 0.3 GB, which nobody else needs.
func (r SetResult) WithTables() SetResult {
	r.Tables = make([]TableResult, len(r.set.Tables))
	for i, t := range r.set.Tables {
		r.Tables[i] = NewTableResult(t)
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

// Notes are the warnings: of the readings, and of the tables.
func (r SetResult) Notes() []diag.Note { return r.notes }

// Report lays the result out, the answer first.
func (r SetResult) Report() Report {
	return Report{
		Title: "Tables", Answer: r.answer(), Facts: r.set.Facts,
		Sections: append([]Section{r.contents()}, r.Sections()...),
		Next:     r.next(), Cautions: EngineCautions(),
	}
}

// Summary is the report without the tables themselves, which are in the files.
func (r SetResult) Summary() Report {
	out := r.Report()
	out.Sections = out.Sections[:1]
	for _, name := range []string{"trims", "spread_left"} {
		if t, ok := r.set.Find(name); ok {
			s := tableSection(t.forPeople())
			for i := range s.Charts {
				s.Charts[i].Aside = true
			}
			out.Sections = append(out.Sections, s)
		}
	}
	if g, ok := r.gainTable(); ok {
		out.Sections = append(out.Sections, Section{Name: "breakpoints", Heading: "What the chosen breakpoints are worth", Tables: []Table{g},
			Text: []string{fmt.Sprintf("Rounding times to %s ms costs at most %.2f %% in 95 of 100 cases at 1 ms effective, and %.2f %% at the shortest pulse of %s ms.",
				number(r.Rounding.StepMs), r.Rounding.At1msPct, r.Rounding.ShortestPct, number(r.Rounding.ShortestMs))}})
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
		out = append(out, "No injector has a cylinder yet: --cylinders or --firing-order seats the best matched set, --seats 1=ID,2=ID,… seats by hand.")
	}
	if v := r.Verification; v != nil {
		out = append(out, v.Sentence())
	}
	return out
}

// Essence is what to type into the ECU, in sentences.
func (r SetResult) Essence(m *fit.Model) []string {
	var ids []string
	for _, x := range r.Injectors {
		ids = append(ids, x.Injector)
	}
	who, ok := SetOf(m, ids)
	if !ok {
		return nil
	}
	flow, dead := scaled(m.Flow(who, m.RefP), r.VolumeFactor), m.DeadTime(who, m.RefP, m.RefV)
	return []string{fmt.Sprintf("At %s kPa and %s V the mean injector flows %.1f ± %.1f ml/min in %s, and its dead time is %.3f ± %.3f ms.",
		number(r.AtPressure), number(r.AtVoltage), flow.Value, flow.CI95(), inSentence(r.fluid()), dead.Value, dead.CI95())}
}

// fluid is what flows and volumes are of, as the facts say.
func (r SetResult) fluid() string {
	for _, f := range r.set.Facts {
		if f.Name == "Flows are for" {
			return f.Value
		}
	}
	return "bench fluid"
}

func scaled(e fit.Estimate, by float64) fit.Estimate {
	e.Value, e.Lo, e.Hi = e.Value*by, e.Lo*by, e.Hi*by
	return e
}

// Seats lists cylinders, injectors, their flow and dead time, and the trims to type
// in.
func (r SetResult) Seats(m *fit.Model) Table {
	trims, _ := r.set.Find("trims")
	t := Table{
		Name: "seats", Title: "Seats and trims", Corner: "cylinder", Row: trims.Row, RowText: trims.RowText,
		About: fmt.Sprintf("Flow, in %s, and dead time at %s kPa and %s V. Type in the percentage and the added time, or one of the other forms of trims.csv.", inSentence(r.fluid()), number(r.AtPressure), number(r.AtVoltage)),
		Cols: []Column{
			{Name: "injector", Title: "Injector", Text: true},
			{Name: "flow_ml_min", Title: "Flow", Unit: "ml/min", Decimals: 1},
			{Name: "dead_time_ms", Title: "Dead time", Unit: "ms", Decimals: 3},
			{Name: "flow_trim_pct", Title: "Percentage", Unit: "%", Decimals: 2},
			{Name: "dead_time_trim_ms", Title: "Added time", Unit: "ms", Decimals: 3},
		},
	}
	if slices.ContainsFunc(trims.Notes, func(n diag.Note) bool { return n.Code == trimBelowNoise }) {
		t.About += " 0 stands for a trim smaller than its own uncertainty (injtab tables --raw-trims shows it as fitted)."
	}
	for _, row := range trims.Cells {
		g, _ := m.Find(row[0].Text)
		flow, dead := scaled(m.Members[g].Flow, r.VolumeFactor), m.Members[g].DeadTime
		t.Cells = append(t.Cells, []Cell{
			row[0], cell(flow, flow.Value, 1), cell(dead, dead.Value, 1),
			row[columnIndex(trims, "flow_trim_pct")], row[columnIndex(trims, "dead_time_trim_ms")],
		})
	}
	return t
}

// columnIndex finds a column that the table is known to have.
func columnIndex(t Table, name string) int {
	return slices.IndexFunc(t.Cols, func(c Column) bool { return c.Name == name })
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
	return Section{Name: "contents", Heading: "Tables", Notes: r.notes,
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
		if t.Name == "deviation" { // the check shows it
			continue
		}
		out = append(out, tableSection(t.forPeople()))
	}
	return out
}

// forPeople puts words for the codes of a table's rows, and folds what few need.
func (t Table) forPeople() Table {
	if t.Name == "spread_left" {
		t.RowText = slices.Clone(t.RowText)
		for i, code := range t.RowText {
			if k := slices.IndexFunc(Forms, func(f Form) bool { return f.String() == code }); k >= 0 {
				t.RowText[i] = Forms[k].Title()
			}
		}
	}
	t.Aside = t.Name == "compact"
	return t
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
	t.Aside = false
	return Report{Title: t.Title, Sections: []Section{tableSection(t)}}
}

// gainTable shows what choosing breakpoints gains over spacing them evenly.
func (r SetResult) gainTable() (Table, bool) {
	t := Table{Name: "gains", Title: "Worst miss of straight lines between breakpoints", Aside: true, Row: Column{Name: "table", Title: "Table", Text: true},
		Cols: []Column{{Name: "axis", Title: "Axis", Text: true}, {Name: "count", Title: "Breakpoints"},
			{Name: "chosen", Title: "Chosen", Text: true}, {Name: "even", Title: "Evenly spaced", Text: true}}}
	for _, g := range r.Gains {
		t.RowText = append(t.RowText, g.Table)
		t.Cells = append(t.Cells, []Cell{{Text: g.Axis}, {Value: float64(g.Count)}, {Text: missWords(g.ChosenMiss, g.Unit)}, {Text: missWords(g.EvenMiss, g.Unit)}})
	}
	return t, len(t.Cells) > 0
}

func missWords(x float64, unit string) string {
	switch unit {
	case "ms":
		return fmt.Sprintf("%.1f µs", 1000*x)
	case "%":
		return fmt.Sprintf("%.2f %%", x)
	}
	return fmt.Sprintf("%.3f %%", 100*x)
}

package tables

import (
	"fmt"
	"slices"
	"strings"

	"injtab/fit/bench"
	"injtab/fit/diag"
)

// A CheckResult is what was found in a bench file.
type CheckResult struct {
	File      string            `json:"file"`
	SHA256    string            `json:"sha256,omitempty"`
	Readings  int               `json:"readings"`
	Points    int               `json:"points"`
	Injectors []InjectorVerdict `json:"injectors"`
	Findings  []Finding         `json:"findings"`

	checked bench.Checked
	charts  []Chart
	notes   []diag.Note
}

// An InjectorVerdict is the judgement on one injector.
type InjectorVerdict struct {
	Injector string   `json:"injector"`
	Verdict  string   `json:"verdict"`
	Reasons  []string `json:"reasons"`
	Readings int      `json:"readings"`
	Leak     *float64 `json:"leak_ml_min"` // null where no leak test was made
}

// A Finding is a note as programs read it.
type Finding struct {
	Severity string `json:"severity"`
	Code     string `json:"code"`
	File     string `json:"file"`
	Sheet    string `json:"sheet"`
	Line     int    `json:"line"`
	Column   string `json:"column"`
	Message  string `json:"message"`
}

// NewCheck sums up a checked bench file and its findings.
func NewCheck(c bench.Checked, notes []diag.Note) CheckResult {
	r := CheckResult{
		File: c.Sheet().File, SHA256: c.Sheet().SHA256, Readings: c.Readings().Len() + c.Readings().Rest(), Points: len(c.Points()),
		Injectors: []InjectorVerdict{}, Findings: findings(notes), notes: notes, checked: c,
	}
	for i, x := range c.Injectors() {
		v := InjectorVerdict{Injector: x.ID, Verdict: x.Verdict.String(), Reasons: append([]string{}, x.Reasons...), Readings: c.ReadingsOf(i)}
		if x.LeakTest {
			leak := round(x.Leak.MlMin(), 4)
			v.Leak = &leak
		}
		r.Injectors = append(r.Injectors, v)
	}
	if chart, ok := deviationChart(c); ok {
		r.charts = []Chart{chart}
	}
	return r
}

// UnreadCheck is the result for a file that can't be used at all.
func UnreadCheck(file string, notes []diag.Note) CheckResult {
	return CheckResult{File: file, Injectors: []InjectorVerdict{}, Findings: findings(notes), notes: notes}
}

func findings(notes []diag.Note) []Finding {
	out := make([]Finding, 0, len(notes))
	for _, n := range notes {
		out = append(out, Finding{n.Severity.String(), n.Code, n.Place.File, n.Place.Sheet, n.Place.Line, n.Place.Column, n.Message})
	}
	return out
}

// Watchable are the words that Broken knows beside the verdicts.
var Watchable = []string{"unsound", "warning"}

// Broken names, in sentences, what breaks the limits watched: a verdict ("dead"),
// any verdict but sound ("unsound"), any finding ("warning").
func (r CheckResult) Broken(watched []string) (broken []string) {
	for _, x := range r.Injectors {
		if slices.Contains(watched, x.Verdict) || slices.Contains(watched, "unsound") && x.Verdict != bench.Sound.String() {
			broken = append(broken, fmt.Sprintf("injector %s is %s", x.Injector, x.Verdict))
		}
	}
	if n := len(r.Findings); n > 0 && slices.Contains(watched, "warning") {
		broken = append(broken, fmt.Sprintf("there %s %s", isAre(n), counted(n, "finding")))
	}
	return broken
}

// Report lays the result out, the answer first.
func (r CheckResult) Report() Report {
	return Report{
		Title:    "Check of " + r.File,
		Answer:   r.answer(),
		Facts:    []Fact{{"Readings", fmt.Sprint(r.Readings)}, {"Points", fmt.Sprint(r.Points)}, {"SHA-256", r.SHA256}},
		Sections: []Section{r.section(), {Name: "findings", Heading: "Findings", Text: r.findingText(), Notes: r.notes}},
		Next:     r.next(),
	}
}

// Section is the check as a part of a larger report, without the findings.
func (r CheckResult) Section() Section {
	s := r.section()
	s.Text = r.answer()
	return s
}

func (r CheckResult) section() Section {
	s := Section{Name: "check", Heading: "The injectors", Tables: []Table{r.verdicts()}, Charts: r.charts}
	if t, ok := shared(&r.checked); ok {
		t.Aside = true
		s.Tables = append(s.Tables, t)
	}
	return s
}

// Table is the table for a spreadsheet.
func (r CheckResult) Table() Table { return Deviation(r.checked) }

func (r CheckResult) answer() []string {
	sound, why := 0, []string(nil)
	for _, x := range r.Injectors {
		if x.Verdict == bench.Sound.String() {
			sound++
			continue
		}
		why = append(why, fmt.Sprintf("%s is %s: %s.", x.Injector, asWord(x.Verdict), strings.Join(x.Reasons, "; ")))
	}
	return append([]string{fmt.Sprintf("%d of %s %s sound.", sound, counted(len(r.Injectors), "injector"), isAre(sound))}, why...)
}

// Summary is the verdicts in one sentence.
func (r CheckResult) Summary() string {
	sound, others := 0, []string(nil)
	for _, x := range r.Injectors {
		if x.Verdict == bench.Sound.String() {
			sound++
		} else {
			others = append(others, x.Injector+" is "+asWord(x.Verdict))
		}
	}
	out := fmt.Sprintf("%d of %s %s sound", sound, counted(len(r.Injectors), "injector"), isAre(sound))
	if len(others) > 0 {
		out += "; " + listed(others)
	}
	return out + "."
}

// asWord puts a verdict into a sentence.
func asWord(verdict string) string {
	if verdict == bench.Outlier.String() {
		return "an outlier"
	}
	return verdict
}

func (r CheckResult) findingText() []string {
	if len(r.notes) == 0 {
		return []string{"None."}
	}
	return nil
}

func (r CheckResult) next() []string {
	var out []string
	if len(r.Findings) > 0 {
		out = append(out, "Look the findings up in the notebook: mend a slip of the pen, repeat a reading that is in doubt, then check again.")
	}
	return append(out, fmt.Sprintf("Choose a set: injtab match %s --of N; or fit all: injtab fit %s", r.File, r.File))
}

func (r CheckResult) verdicts() Table {
	t := Table{
		Name: "verdicts", Title: "Verdicts", Corner: "injector", Row: injectorColumn(),
		Cols: []Column{
			{Name: "verdict", Title: "Verdict", Text: true, About: "Sound, or what is wrong with it."},
			{Name: "readings", Title: "Readings", UCUM: "1", About: "How many it has."},
			{Name: "leak_ml_min", Title: "Leak", Unit: "ml/min", UCUM: "mL/min", Decimals: 2, About: "In the leak test."},
		},
	}
	for _, x := range r.Injectors {
		t.RowText = append(t.RowText, x.Injector)
		t.Cells = append(t.Cells, []Cell{{Text: x.Verdict}, {Value: float64(x.Readings)}, orEmpty(x.Leak)})
	}
	return t
}

func isAre(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

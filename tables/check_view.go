package tables

import (
	"fmt"
	"math"
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

	deviation Table
	charts    []Chart
	notes     []diag.Note
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
		File: c.Sheet().File, SHA256: c.Sheet().SHA256, Readings: len(c.Readings()), Points: len(c.Points()),
		Injectors: []InjectorVerdict{}, Findings: findings(notes), notes: notes, deviation: Deviation(c),
	}
	count := map[string]int{}
	for _, x := range c.Readings() {
		count[x.Injector]++
	}
	for _, x := range c.Injectors() {
		v := InjectorVerdict{Injector: x.ID, Verdict: x.Verdict.String(), Reasons: append([]string{}, x.Reasons...), Readings: count[x.ID]}
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
		broken = append(broken, "there are "+counted(n, "finding"))
	}
	return broken
}

// Report lays the result out, the answer first.
func (r CheckResult) Report() Report {
	return Report{
		Title:    "Check of " + r.File,
		Answer:   r.answer(),
		Facts:    []Fact{{"Readings", fmt.Sprint(r.Readings)}, {"Points", fmt.Sprint(r.Points)}, {"SHA-256 of the file", r.SHA256}},
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
	if t, ok := shared(r.deviation); ok {
		s.Tables = append(s.Tables, t)
	}
	return s
}

// Table is the table for a spreadsheet.
func (r CheckResult) Table() Table { return r.deviation }

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
	if len(r.Findings) > 0 {
		return []string{"Look the findings up in the notebook: mend a slip of the pen, repeat a reading that is in doubt, then check again."}
	}
	return []string{fmt.Sprintf("Fit the model: injtab fit %s", r.File)}
}

func (r CheckResult) verdicts() Table {
	var rows [][]string
	for _, x := range r.Injectors {
		leak := "not tested"
		if x.Leak != nil {
			leak = fmt.Sprintf("%.2f ml/min", *x.Leak)
		}
		rows = append(rows, []string{x.Injector, x.Verdict, fmt.Sprint(x.Readings), leak})
	}
	return textTable("verdicts", "Verdicts", "", []string{"injector", "verdict", "readings", "leak"}, rows)
}

// shared keeps the columns of the deviation table at which at least half of the
// injectors were measured, for a screen: the others can't be compared. Intervals
// are left to the file.
func shared(t Table) (Table, bool) {
	out := t
	out.About = "Delivered fuel of each injector in per cent from the mean of the sound ones, at the points where at least half of them were measured."
	out.Cols, out.Cells = t.Cols[:1:1], make([][]Cell, len(t.Cells))
	for i, row := range t.Cells {
		out.Cells[i] = row[:1:1]
	}
	pressure := commonPressure(t)
	if pressure != "" {
		out.About += " All at" + pressure + "."
	}
	for c := 1; c < len(t.Cols); c++ {
		if !isShared(t, c) {
			continue
		}
		col := t.Cols[c]
		col.Unit, col.Title = "", strings.Replace(col.Title, pressure, "", 1)
		out.Cols = append(out.Cols, col)
		for i, row := range t.Cells {
			cell := row[c]
			cell.CI95 = 0
			out.Cells[i] = append(out.Cells[i], cell)
		}
	}
	return out, len(out.Cols) > 1
}

// commonPressure is the pressure, as column titles have it, of all points that are
// shared; "" where there are several.
func commonPressure(t Table) (pressure string) {
	for c := 1; c < len(t.Cols); c++ {
		if !isShared(t, c) {
			continue
		}
		words := strings.Fields(t.Cols[c].Title)
		at := slices.Index(words, "kPa")
		if at < 1 {
			return ""
		}
		p := " " + words[at-1] + " kPa"
		if pressure != "" && p != pressure {
			return ""
		}
		pressure = p
	}
	return pressure
}

// isShared tells whether at least half of the injectors, two at the least, were
// measured at a point.
func isShared(t Table, column int) bool {
	n := withValue(t, column)
	return n >= 2 && 2*n >= len(t.Cells)
}

func withValue(t Table, column int) (n int) {
	for _, row := range t.Cells {
		if row[column].Status.HasValue() {
			n++
		}
	}
	return n
}

// deviationChart compares the injectors at the shortest and the longest pulse at
// which most of them were measured: the long one tells of flow, the short one of
// dead time too.
func deviationChart(c bench.Checked) (Chart, bool) {
	short, long, ok := endPoints(c)
	if !ok {
		return Chart{}, false
	}
	chart := Chart{
		Name: "deviation", Title: "Deviation from the mean by injector",
		X: Scale{Title: "Injector"}, Y: Scale{Title: "Deviation", Unit: "%"},
		Alt: "Bars of each injector's deviation from the mean of the sound ones, per cent. The long pulse tells of flow, the short one of dead time too. Dead injectors have none.",
	}
	for _, x := range c.Injectors() {
		chart.Categories = append(chart.Categories, x.ID)
	}
	points := []int{long}
	if short != long {
		points = []int{short, long}
	}
	for _, p := range points {
		s := Series{Name: PointName(c.Points()[p]), Kind: Bars}
		for i, x := range c.Injectors() {
			if pct, ok := c.Deviation(i, p); ok && x.Verdict != bench.Dead {
				s.X, s.Y = append(s.X, float64(i)), append(s.Y, pct)
			}
		}
		chart.Series = append(chart.Series, s)
	}
	return chart, true
}

// endPoints are the points of the shortest and the longest pulse among those at
// which the most injectors were measured.
func endPoints(c bench.Checked) (short, long int, ok bool) {
	most := 0
	lo, hi := math.Inf(1), math.Inf(-1)
	for p, x := range c.Points() {
		if x.Leak || x.Static {
			continue
		}
		n := 0
		for i := range c.Injectors() {
			if _, ok := c.Deviation(i, p); ok {
				n++
			}
		}
		if n > most {
			most, lo, hi = n, math.Inf(1), math.Inf(-1)
		}
		if n < most || n == 0 {
			continue
		}
		if t := x.Pulse.Ms(); t < lo {
			lo, short = t, p
		}
		if t := x.Pulse.Ms(); t > hi {
			hi, long = t, p
		}
	}
	return short, long, most > 0
}

func isAre(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

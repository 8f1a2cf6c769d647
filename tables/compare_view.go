package tables

import (
	"fmt"
	"maps"
	"slices"

	"injtab/fit"
	"injtab/fit/bench"
	"injtab/fit/diag"
)

// A CompareResult is what changed between two sessions, as programs read it.
type CompareResult struct {
	Before       string           `json:"before"`
	After        string           `json:"after"`
	AtPressure   float64          `json:"at_pressure_kpa"`
	AtVoltage    float64          `json:"at_voltage_v"`
	SpreadBefore float64          `json:"flow_spread_before_pct"`
	SpreadAfter  float64          `json:"flow_spread_after_pct"`
	CommonFlow   Figure           `json:"common_flow_change_pct"`
	CommonDead   Figure           `json:"common_dead_time_change_ms"`
	Injectors    []InjectorChange `json:"injectors"` // all of either file
	Gone         []string         `json:"only_before"`
	New          []string         `json:"only_after"`
	Warnings     []string         `json:"warnings"`
}

// A Figure is a number with the half-width of its 95 % interval.
type Figure struct {
	Value float64 `json:"value"`
	CI95  float64 `json:"ci95"`
}

// An InjectorChange is what became of one injector, beyond what all have in common.
// What only one session has to say is null.
type InjectorChange struct {
	Injector      string   `json:"injector"`
	VerdictBefore *string  `json:"verdict_before"` // null where the file does not have it
	VerdictAfter  *string  `json:"verdict_after"`
	Flow          *Figure  `json:"flow_change_pct"` // null unless fitted in both
	FlowReal      bool     `json:"flow_change_is_real"`
	DeadTime      *Figure  `json:"dead_time_change_ms"`
	DeadReal      bool     `json:"dead_time_change_is_real"`
	LeakBefore    *float64 `json:"leak_before_ml_min"` // null where not tested
	LeakAfter     *float64 `json:"leak_after_ml_min"`
}

// NewCompare sums up a comparison of two sessions; notes are the findings of both.
func NewCompare(c fit.Comparison, before, after *fit.Model, notes []diag.Note) CompareResult {
	r := CompareResult{
		Before: before.Checked.Sheet().File, After: after.Checked.Sheet().File,
		AtPressure: round(c.At.KPa(), 6), AtVoltage: round(c.AtV.V(), 6),
		SpreadBefore: c.SpreadBeforePct, SpreadAfter: c.SpreadAfterPct,
		CommonFlow: figure(c.CommonFlowPct), CommonDead: figure(c.CommonDeadTimeMs),
		Injectors: []InjectorChange{}, Gone: append([]string{}, c.Gone...), New: append([]string{}, c.New...),
		Warnings: append([]string{}, sentences(notes)...),
	}
	was, is := byID(before.Checked), byID(after.Checked)
	everyone := maps.Clone(was)
	maps.Copy(everyone, is)
	for _, id := range slices.SortedFunc(maps.Keys(everyone), bench.CompareNatural) {
		x := InjectorChange{Injector: id}
		x.VerdictBefore, x.LeakBefore = judged(was, id)
		x.VerdictAfter, x.LeakAfter = judged(is, id)
		if i := slices.IndexFunc(c.Changes, func(y fit.Change) bool { return y.Injector == id }); i >= 0 {
			y := c.Changes[i]
			flow, dead := figure(y.FlowPct), figure(y.DeadTimeMs)
			x.Flow, x.FlowReal, x.DeadTime, x.DeadReal = &flow, y.FlowReal, &dead, y.DeadReal
		}
		r.Injectors = append(r.Injectors, x)
	}
	return r
}

func byID(c bench.Checked) map[string]bench.Injector {
	list := map[string]bench.Injector{}
	for _, x := range c.Injectors() {
		list[x.ID] = x
	}
	return list
}

// judged is the verdict on an injector and its leak in ml/min, nil where there is none.
func judged(list map[string]bench.Injector, id string) (verdict *string, leak *float64) {
	x, ok := list[id]
	if !ok {
		return nil, nil
	}
	word := x.Verdict.String()
	if x.LeakTest {
		ml := round(x.Leak.MlMin(), 4)
		leak = &ml
	}
	return &word, leak
}

func figure(e fit.Estimate) Figure { return Figure{e.Value, e.CI95()} }

// fitted are the injectors with figures of both sessions.
func (r CompareResult) fitted() (list []InjectorChange) {
	for _, x := range r.Injectors {
		if x.Flow != nil {
			list = append(list, x)
		}
	}
	return list
}

// Report lays the comparison out, the answer first.
func (r CompareResult) Report() Report {
	return Report{
		Title: fmt.Sprintf("%s against %s", r.After, r.Before), Answer: r.answer(),
		Facts: []Fact{
			{"Compared at", fmt.Sprintf("%s kPa, %s V", number(r.AtPressure), number(r.AtVoltage))},
			{"All together", fmt.Sprintf("flow %+.2f ± %.2f %%, dead time %+.3f ± %.3f ms; a gauge that moved between the sessions would look the same", r.CommonFlow.Value, r.CommonFlow.CI95, r.CommonDead.Value, r.CommonDead.CI95)},
			{"Largest over smallest flow", fmt.Sprintf("%.2f %% before, %.2f %% after, of those fitted in both", r.SpreadBefore, r.SpreadAfter)},
		},
		Sections: []Section{{Name: "changes", Heading: "What became of each injector", Tables: []Table{r.Table()}, Charts: []Chart{r.chart()}}},
		Next:     []string{"A change that is marked real is beyond the noise of both sessions; of all that are marked about one in twenty may still be chance."},
	}
}

func (r CompareResult) answer() []string {
	var out []string
	for _, x := range r.Injectors {
		if x.VerdictBefore != nil && x.VerdictAfter != nil && *x.VerdictBefore != *x.VerdictAfter {
			out = append(out, fmt.Sprintf("Injector %s was %s and is %s.", x.Injector, asWord(*x.VerdictBefore), asWord(*x.VerdictAfter)))
		}
	}
	for _, x := range r.fitted() {
		if x.FlowReal {
			out = append(out, fmt.Sprintf("Injector %s flows %+.2f ± %.2f %%.", x.Injector, x.Flow.Value, x.Flow.CI95))
		}
		if x.DeadReal {
			out = append(out, fmt.Sprintf("The dead time of injector %s changed by %+.3f ± %.3f ms.", x.Injector, x.DeadTime.Value, x.DeadTime.CI95))
		}
	}
	if len(out) == 0 {
		out = []string{fmt.Sprintf("None of %s changed beyond the noise of the readings.", counted(len(r.fitted()), "injector"))}
	}
	for _, one := range []struct {
		text string
		ids  []string
	}{{"Fitted before alone: ", r.Gone}, {"Fitted after alone: ", r.New}} {
		if len(one.ids) > 0 {
			out = append(out, one.text+listed(one.ids)+".")
		}
	}
	return out
}

// Table is one row an injector of either file.
func (r CompareResult) Table() Table {
	t := Table{
		Name: "changes", Title: "Changes", Corner: "injector", Row: injectorColumn(),
		About: "Flow and dead time beyond what all changed by together, of injectors that were fitted in both sessions.",
		Cols: []Column{
			{Name: "verdict_before", Title: "Was", Text: true, About: "Verdict before."},
			{Name: "verdict_after", Title: "Is", Text: true, About: "Verdict after."},
			{Name: "flow_change_pct", Title: "Flow", Unit: "%", UCUM: "%", Decimals: 2, About: "Change of static flow beyond the common one."},
			{Name: "dead_time_change_ms", Title: "Dead time", Unit: "ms", UCUM: "ms", Decimals: 3, About: "Change of dead time beyond the common one."},
			{Name: "real_change", Title: "Real change", Text: true, About: "What of it is beyond the noise of the readings."},
			{Name: "leak_before_ml_min", Title: "Leaked", Unit: "ml/min", UCUM: "mL/min", Decimals: 2, About: "Leak before."},
			{Name: "leak_after_ml_min", Title: "Leaks", Unit: "ml/min", UCUM: "mL/min", Decimals: 2, About: "Leak after."},
		},
	}
	for _, x := range r.Injectors {
		t.RowText = append(t.RowText, x.Injector)
		t.Cells = append(t.Cells, []Cell{
			verdictCell(x.VerdictBefore), verdictCell(x.VerdictAfter),
			figureCell(x.Flow), figureCell(x.DeadTime), {Text: x.real()},
			orEmpty(x.LeakBefore), orEmpty(x.LeakAfter),
		})
	}
	return t
}

func verdictCell(verdict *string) Cell {
	if verdict == nil {
		return Cell{Text: "not in the file"}
	}
	return Cell{Text: *verdict}
}

func figureCell(f *Figure) Cell {
	if f == nil {
		return Cell{Status: diag.NotMeasured}
	}
	return Cell{Value: f.Value, CI95: f.CI95}
}

// real says what of the change is beyond the noise.
func (x InjectorChange) real() string {
	switch {
	case x.Flow == nil:
		return ""
	case x.FlowReal && x.DeadReal:
		return "flow, dead time"
	case x.FlowReal:
		return "flow"
	case x.DeadReal:
		return "dead time"
	}
	return "none"
}

// orEmpty is a cell that may have no value.
func orEmpty(x *float64) Cell {
	if x == nil {
		return Cell{Status: diag.NotMeasured}
	}
	return Cell{Value: *x}
}

func (r CompareResult) chart() Chart {
	c := Chart{
		Name: "changes", Title: "Change of flow by injector", X: Scale{Title: "Injector"}, Y: Scale{"Change of flow", "%"},
		Alt: "Each injector's change of static flow, per cent, beyond what all changed by together.",
	}
	s := Series{Name: "change", Kind: Bars}
	for i, x := range r.fitted() {
		c.Categories = append(c.Categories, x.Injector)
		s.X, s.Y = append(s.X, float64(i)), append(s.Y, x.Flow.Value)
		s.Lo, s.Hi = append(s.Lo, x.Flow.Value-x.Flow.CI95), append(s.Hi, x.Flow.Value+x.Flow.CI95)
	}
	c.Series = []Series{s}
	return farthest(c)
}

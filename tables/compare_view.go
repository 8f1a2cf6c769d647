package tables

import (
	"fmt"

	"injtab/fit"
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
	Injectors    []InjectorChange `json:"injectors"`
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
type InjectorChange struct {
	Injector      string   `json:"injector"`
	VerdictBefore string   `json:"verdict_before"`
	VerdictAfter  string   `json:"verdict_after"`
	Flow          Figure   `json:"flow_change_pct"`
	FlowReal      bool     `json:"flow_change_is_real"`
	DeadTime      Figure   `json:"dead_time_change_ms"`
	DeadReal      bool     `json:"dead_time_change_is_real"`
	LeakBefore    *float64 `json:"leak_before_ml_min"` // null where not both were tested
	LeakAfter     *float64 `json:"leak_after_ml_min"`
}

// NewCompare sums up a comparison of two files; notes are the findings of both.
func NewCompare(c fit.Comparison, before, after string, notes []diag.Note) CompareResult {
	r := CompareResult{
		Before: before, After: after, AtPressure: round(c.At.KPa(), 6), AtVoltage: round(c.AtV.V(), 6),
		SpreadBefore: c.SpreadBeforePct, SpreadAfter: c.SpreadAfterPct,
		CommonFlow: figure(c.CommonFlowPct), CommonDead: figure(c.CommonDeadTimeMs),
		Injectors: []InjectorChange{}, Gone: append([]string{}, c.Gone...), New: append([]string{}, c.New...),
		Warnings: append([]string{}, sentences(notes)...),
	}
	for _, x := range c.Changes {
		i := InjectorChange{
			Injector: x.Injector, VerdictBefore: x.VerdictBefore.String(), VerdictAfter: x.VerdictAfter.String(),
			Flow: figure(x.FlowPct), FlowReal: x.FlowReal, DeadTime: figure(x.DeadTimeMs), DeadReal: x.DeadReal,
		}
		if x.LeakTested {
			a, b := round(x.LeakBefore.MlMin(), 4), round(x.LeakAfter.MlMin(), 4)
			i.LeakBefore, i.LeakAfter = &a, &b
		}
		r.Injectors = append(r.Injectors, i)
	}
	return r
}

func figure(e fit.Estimate) Figure { return Figure{e.Value, e.CI95()} }

// Report lays the comparison out, the answer first.
func (r CompareResult) Report() Report {
	return Report{
		Title: fmt.Sprintf("%s against %s", r.After, r.Before), Answer: r.answer(),
		Facts: []Fact{
			{"Compared at", fmt.Sprintf("%s kPa, %s V", number(r.AtPressure), number(r.AtVoltage))},
			{"All together", fmt.Sprintf("flow %+.2f ± %.2f %%, dead time %+.3f ± %.3f ms; a gauge that moved between the sessions would look the same", r.CommonFlow.Value, r.CommonFlow.CI95, r.CommonDead.Value, r.CommonDead.CI95)},
			{"Largest over smallest flow", fmt.Sprintf("%.2f %% before, %.2f %% after", r.SpreadBefore, r.SpreadAfter)},
		},
		Sections: []Section{{Name: "changes", Heading: "Each injector, beyond what all changed by together", Tables: []Table{r.Table()}, Charts: []Chart{r.chart()}}},
		Next:     []string{"A change that is marked is beyond the noise of both sessions; of all that are marked about one in twenty may still be chance."},
	}
}

func (r CompareResult) answer() []string {
	var out []string
	for _, x := range r.Injectors {
		if x.FlowReal {
			out = append(out, fmt.Sprintf("Injector %s flows %+.2f ± %.2f %%.", x.Injector, x.Flow.Value, x.Flow.CI95))
		}
		if x.DeadReal {
			out = append(out, fmt.Sprintf("The dead time of injector %s changed by %+.3f ± %.3f ms.", x.Injector, x.DeadTime.Value, x.DeadTime.CI95))
		}
		if x.VerdictBefore != x.VerdictAfter {
			out = append(out, fmt.Sprintf("Injector %s was %s and is %s.", x.Injector, asWord(x.VerdictBefore), asWord(x.VerdictAfter)))
		}
	}
	if len(out) == 0 {
		out = []string{fmt.Sprintf("None of %s changed beyond the noise of the readings.", counted(len(r.Injectors), "injector"))}
	}
	if len(r.Gone) > 0 {
		out = append(out, "Fitted before alone: "+listed(r.Gone)+".")
	}
	if len(r.New) > 0 {
		out = append(out, "Fitted after alone: "+listed(r.New)+".")
	}
	return out
}

// Table is one row an injector.
func (r CompareResult) Table() Table {
	t := Table{
		Name: "changes", Title: "Changes", Corner: "injector", Row: injectorColumn(),
		Cols: []Column{
			{Name: "flow_change_pct", Title: "Flow", Unit: "%", UCUM: "%", Decimals: 2, About: "Change of static flow beyond the common one."},
			{Name: "flow_change", Title: "Real", Text: true, About: "Whether it is beyond the noise."},
			{Name: "dead_time_change_ms", Title: "Dead time", Unit: "ms", UCUM: "ms", Decimals: 3, About: "Change of dead time beyond the common one."},
			{Name: "dead_time_change", Title: "Real", Text: true, About: "Whether it is beyond the noise."},
			{Name: "verdict_before", Title: "Was", Text: true, About: "Verdict before."},
			{Name: "verdict_after", Title: "Is", Text: true, About: "Verdict after."},
			{Name: "leak_before_ml_min", Title: "Leaked", Unit: "ml/min", UCUM: "mL/min", Decimals: 3, About: "Leak before."},
			{Name: "leak_after_ml_min", Title: "Leaks", Unit: "ml/min", UCUM: "mL/min", Decimals: 3, About: "Leak after."},
		},
	}
	for _, x := range r.Injectors {
		t.RowText = append(t.RowText, x.Injector)
		t.Cells = append(t.Cells, []Cell{
			{Value: x.Flow.Value, CI95: x.Flow.CI95}, {Text: realWord(x.FlowReal)}, {Value: x.DeadTime.Value, CI95: x.DeadTime.CI95}, {Text: realWord(x.DeadReal)},
			{Text: x.VerdictBefore}, {Text: x.VerdictAfter}, orEmpty(x.LeakBefore), orEmpty(x.LeakAfter),
		})
	}
	return t
}

func realWord(real bool) string {
	if real {
		return "yes"
	}
	return "in the noise"
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
		Alt: "Bars of each injector's change of static flow, per cent, beyond what all changed by together.",
	}
	s := Series{Name: "change", Kind: Bars}
	for i, x := range r.Injectors {
		c.Categories = append(c.Categories, x.Injector)
		s.X, s.Y = append(s.X, float64(i)), append(s.Y, x.Flow.Value)
		s.Lo, s.Hi = append(s.Lo, x.Flow.Value-x.Flow.CI95), append(s.Hi, x.Flow.Value+x.Flow.CI95)
	}
	c.Series = []Series{s}
	return c
}

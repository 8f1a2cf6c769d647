package tables

import (
	"fmt"
	"math"
	"slices"

	"injtab/fit"
	"injtab/fit/bench"
	"injtab/fit/diag"
)

// A FitResult is the fitted model as programs read it.
type FitResult struct {
	Fluid      string       `json:"fluid"` // that the flows are for: the bench fluid
	File       string       `json:"file"`
	SHA256     string       `json:"sha256"`
	Model      FitModel     `json:"model"`
	AtPressure float64      `json:"at_pressure_kpa"`
	AtVoltage  float64      `json:"at_voltage_v"`
	Injectors  []FitMember  `json:"injectors"`
	RSquared   float64      `json:"r_squared"`
	RMS        float64      `json:"rms_residual_pct"`
	Forms      []FitForm    `json:"forms_tried"`
	Misfits    []FitReading `json:"readings_that_do_not_fit"`
	Warnings   []string     `json:"warnings"`

	m         *fit.Model
	notes     []diag.Note
	residuals []FitReading
}

// A FitModel is the family: the mean injector.
type FitModel struct {
	RatedPressure    float64  `json:"rated_pressure_kpa"`
	Flow             float64  `json:"flow_ml_min"`
	FlowCI95         float64  `json:"flow_ci95_ml_min"`
	FlowExponent     *float64 `json:"flow_exponent"` // null when one pressure was measured
	FlowExponentCI95 *float64 `json:"flow_exponent_ci95"`
	DeadTime         *float64 `json:"dead_time_ms"` // null where it has no value
	DeadTimeCI95     *float64 `json:"dead_time_ci95_ms"`
	Form             string   `json:"form"`
	NoisePct         float64  `json:"reading_noise_pct"`
}

// A FitMember is one injector.
type FitMember struct {
	Injector     string   `json:"injector"`
	Verdict      string   `json:"verdict"`
	Flow         float64  `json:"flow_ml_min"`
	FlowCI95     float64  `json:"flow_ci95_ml_min"`
	DeadTime     *float64 `json:"dead_time_ms"` // null where it has no value
	DeadTimeCI95 *float64 `json:"dead_time_ci95_ms"`
	LinearFrom   *float64 `json:"linear_from_ms"` // null where the session could not tell
	LinearTo     *float64 `json:"linear_to_ms"`
	RMS          float64  `json:"rms_residual_pct"`
	RSquared     float64  `json:"r_squared"`
	Readings     int      `json:"readings"`
}

// A FitForm is a form of the model that was tried.
type FitForm struct {
	DeadTime   string  `json:"dead_time"`
	ShortPulse string  `json:"short_pulse"`
	Parameters int     `json:"parameters"`
	AICc       float64 `json:"aicc"`         // less that of the best
	HeldOut    float64 `json:"held_out_rms"` // in standard uncertainties; 0: not compared
	Chosen     bool    `json:"chosen"`
}

// A FitReading is one reading beside what the model delivers there.
type FitReading struct {
	Injector    string  `json:"injector"`
	PulseMs     float64 `json:"pulse_ms"`
	PressureKPa float64 `json:"pressure_kpa"`
	VoltageV    float64 `json:"voltage_v"`
	Read        float64 `json:"read_ml"`   // total of the reading
	Fitted      float64 `json:"fitted_ml"` // that would have fitted
	ErrorPct    float64 `json:"error_pct"`
	Line        int     `json:"line,omitempty"`

	perShot float64
}

// NewFit sums up a fitted model; notes are the findings of the bench file.
func NewFit(m *fit.Model, notes []diag.Note) FitResult {
	sheet := m.Checked.Sheet()
	r := FitResult{Fluid: benchFluid(m),
		File: sheet.File, SHA256: sheet.SHA256, m: m, Model: modelFigures(m),
		AtPressure: round(m.RefP.KPa(), 6), AtVoltage: round(m.RefV.V(), 6),
		notes:     append(append([]diag.Note{}, notes...), m.Notes...),
		Injectors: []FitMember{}, Forms: []FitForm{}, Misfits: []FitReading{},
		Warnings: append(append([]string{}, sentences(notes)...), sentences(m.Notes)...),
	}
	for _, x := range m.Members {
		r.Injectors = append(r.Injectors, memberFigures(x))
	}
	for _, c := range m.Choices {
		r.Forms = append(r.Forms, FitForm{c.DeadTime, c.Bend, c.Params, round(c.AICc, 2), round(c.HeldOut, 3), c.Chosen})
	}
	r.weigh(m.Residuals())
	return r
}

func modelFigures(m *fit.Model) FitModel {
	all := soundOf(m)
	flow, dead := m.Flow(all, m.RefP), m.DeadTime(all, m.RefP, m.RefV)
	out := FitModel{
		RatedPressure: round(m.Checked.Setup().RatedPressure.KPa(), 6),
		Flow:          flow.Value, FlowCI95: flow.CI95(), Form: m.Form(), NoisePct: m.Noise.RelativePct,
	}
	out.DeadTime, out.DeadTimeCI95 = valueOf(dead)
	if n, measured := m.Exponent(); measured {
		value, half := n.Value, n.CI95()
		out.FlowExponent, out.FlowExponentCI95 = &value, &half
	}
	return out
}

// soundOf are the members that were judged sound; all, where none was.
func soundOf(m *fit.Model) (who fit.Who) {
	for i, x := range m.Members {
		if x.Verdict == bench.Sound {
			who = append(who, i)
		}
	}
	if len(who) == 0 {
		return m.Everyone()
	}
	return who
}

func memberFigures(x fit.Member) FitMember {
	out := FitMember{
		Injector: x.ID, Verdict: x.Verdict.String(), Flow: x.Flow.Value, FlowCI95: x.Flow.CI95(),
		LinearFrom: ifAbove(x.LinearFrom), LinearTo: ifAbove(x.LinearTo),
		RMS: x.RMSPct, RSquared: x.RSquared, Readings: x.N,
	}
	out.DeadTime, out.DeadTimeCI95 = valueOf(x.DeadTime)
	return out
}

// valueOf gives an estimate's value and half-width, nil where it has none.
func valueOf(e fit.Estimate) (value, ci95 *float64) {
	if !e.Status.HasValue() {
		return nil, nil
	}
	half := e.CI95()
	return &e.Value, &half
}

func ifAbove(x float64) *float64 {
	if x <= 0 {
		return nil
	}
	return &x
}

// weigh parts the readings that the fit did not believe from the others and sums
// these up.
func (r *FitResult) weigh(all []fit.Residual) {
	var sum, mean, ss, sr float64
	var used []fit.Residual
	readings := r.m.Checked.Readings()
	for _, x := range all {
		row := fitReading(readings.At(x.Reading), x)
		if x.Weight < fit.Doubt {
			r.Misfits = append(r.Misfits, row)
			continue
		}
		used = append(used, x)
		if !readings.At(x.Reading).Static() {
			r.residuals = append(r.residuals, row)
		}
	}
	n := float64(len(used))
	for _, x := range used {
		sum += x.Pct * x.Pct / n
		mean += readings.At(x.Reading).PerShot().Ml() / n
	}
	for _, x := range used {
		read := readings.At(x.Reading).PerShot().Ml()
		ss += (read - mean) * (read - mean)
		sr += (read - x.Fitted) * (read - x.Fitted)
	}
	r.RMS = math.Sqrt(sum)
	if ss > 0 {
		r.RSquared = 1 - sr/ss
	}
}

func fitReading(r bench.Reading, x fit.Residual) FitReading {
	return FitReading{
		Injector: r.Injector, PulseMs: r.Pulse.Ms(), PressureKPa: r.Pressure.KPa(), VoltageV: r.Voltage.V(),
		Read: r.Volume.Ml(), Fitted: x.Fitted * r.Shots, ErrorPct: x.Pct, Line: r.Line, perShot: r.PerShot().Ml(),
	}
}

// Report lays the result out, the answer first.
func (r FitResult) Report() Report {
	sections := []Section{r.section()}
	if len(r.notes) > 0 {
		sections = append(sections, Section{Name: "findings", Heading: "Findings", Notes: r.notes})
	}
	return Report{
		Title:    "Fit of " + r.File,
		Answer:   r.answer(),
		Facts:    r.facts(),
		Sections: sections,
		Next:     []string{fmt.Sprintf("Build the tables: injtab tables %s -o DIR", r.File)},
	}
}

// Section is the fit as a part of a larger report.
func (r FitResult) Section() Section {
	s := r.section()
	s.Text = r.answer()
	return s
}

func (r FitResult) section() Section {
	s := Section{Name: "fit", Heading: "The injectors' flow and dead time", Tables: []Table{r.shown()}, Charts: r.Charts()}
	if len(r.Misfits) > 0 {
		s.Tables = append(s.Tables, r.misfitTable())
	}
	forms := r.formTable()
	forms.Aside = true
	s.Tables = append(s.Tables, forms)
	return s
}

func (r FitResult) answer() []string {
	x := r.Model
	dead := "is not known"
	if x.DeadTime != nil {
		dead = fmt.Sprintf("is %.3f ± %.3f ms", *x.DeadTime, *x.DeadTimeCI95)
	}
	out := []string{fmt.Sprintf("The mean injector flows %.1f ± %.1f ml/min held open at %s kPa, and its dead time %s at %s V.",
		x.Flow, x.FlowCI95, number(r.AtPressure), dead, number(r.AtVoltage))}
	if x.FlowExponent == nil {
		out = append(out, "One pressure was measured: how flow changes with pressure is not known.")
	} else {
		out = append(out, fmt.Sprintf("Flow follows pressure to the power %.3f ± %.3f (an ideal orifice: 0.5).", *x.FlowExponent, *x.FlowExponentCI95))
	}
	out = append(out, fmt.Sprintf("The readings scatter about the curves by %.2f %% (root mean square); R² is %.5f.", r.RMS, r.RSquared))
	if n := len(r.Misfits); n > 0 {
		out = append(out, counted(n, "reading")+" did not fit and had hardly any say in the result.")
	}
	return out
}

func (r FitResult) facts() []Fact {
	return []Fact{
		{"Flows are for", "the bench fluid, " + r.Fluid},
		{"Quoted at", fmt.Sprintf("%s kPa, %s V", number(r.AtPressure), number(r.AtVoltage))},
		{"Form of the model", r.Model.Form},
		{"Intervals", "± is the half-width of a 95 % interval; gauges, timer and vessel are in it"},
		{"SHA-256", r.SHA256},
	}
}

// Table is the injectors' figures.
func (r FitResult) Table() Table {
	t := Table{
		Name: "fit", Title: "Each injector", Corner: "injector", Row: injectorColumn(),
		About: fmt.Sprintf("At %s kPa and %s V.", number(r.AtPressure), number(r.AtVoltage)),
		Cols: []Column{
			{Name: "flow_ml_min", Title: "Static flow", Unit: "ml/min", UCUM: "mL/min", Decimals: 1, About: "Static flow."},
			{Name: "flow_ci95_ml_min", Title: "± 95 %", Unit: "ml/min", UCUM: "mL/min", Decimals: 1, About: "Half-width of its 95 % interval."},
			{Name: "dead_time_ms", Title: "Dead time", Unit: "ms", UCUM: "ms", Decimals: 3, About: "Dead time."},
			{Name: "dead_time_ci95_ms", Title: "± 95 %", Unit: "ms", UCUM: "ms", Decimals: 3, About: "Half-width of its 95 % interval."},
			{Name: "linear_from_ms", Title: "Linear from", Unit: "ms", UCUM: "ms", Decimals: 2, About: "Shortest pulse within 5 % of the straight line."},
			{Name: "linear_to_ms", Title: "Linear to", Unit: "ms", UCUM: "ms", Decimals: 2, About: "Longest pulse known to be."},
			{Name: "rms_residual_pct", Title: "Scatter", Unit: "%", UCUM: "%", Decimals: 2, About: "Root mean square of the residuals."},
			{Name: "readings", Title: "Readings", UCUM: "1", About: "Readings fitted."},
		},
	}
	for i, x := range r.Injectors {
		t.RowText = append(t.RowText, x.Injector)
		t.Cells = append(t.Cells, []Cell{
			{Value: x.Flow, Basis: r.m.Members[i].Flow.Basis}, {Value: x.FlowCI95}, orEmpty(x.DeadTime), orEmpty(x.DeadTimeCI95),
			orEmpty(x.LinearFrom), orEmpty(x.LinearTo), {Value: x.RMS}, {Value: float64(x.Readings)},
		})
	}
	return t
}

// shown is Table for people: the intervals beside their values.
func (r FitResult) shown() Table {
	t := r.Table()
	flow, dead := columnIndex(t, "flow_ci95_ml_min"), columnIndex(t, "dead_time_ci95_ms")
	for _, row := range t.Cells {
		row[flow-1].CI95, row[dead-1].CI95 = row[flow].Value, row[dead].Value
	}
	for _, c := range []int{dead, flow} { // the later first
		t.Cols = slices.Delete(t.Cols, c, c+1)
		for i := range t.Cells {
			t.Cells[i] = slices.Delete(t.Cells[i], c, c+1)
		}
	}
	return t
}

func (r FitResult) misfitTable() Table {
	t := Table{
		Name: "misfits", Title: "Readings that do not fit", About: "They were given hardly any weight. Look them up in the notebook.",
		Corner: "injector", Row: injectorColumn(),
		Cols: []Column{
			textColumn("at"), {Name: "line", Title: "Line", UCUM: "1"},
			{Name: "read_ml", Title: "Read", Unit: "ml", UCUM: "mL", Decimals: 1},
			{Name: "fitted_ml", Title: "Would fit", Unit: "ml", UCUM: "mL", Decimals: 1},
			{Name: "off_pct", Title: "Off by", Unit: "%", UCUM: "%", Decimals: 1},
		},
	}
	for _, x := range r.Misfits {
		t.RowText = append(t.RowText, x.Injector)
		t.Cells = append(t.Cells, []Cell{
			{Text: condition(x.PulseMs, x.PressureKPa, x.VoltageV)}, {Value: float64(x.Line)}, {Value: x.Read}, {Value: x.Fitted}, {Value: x.ErrorPct},
		})
	}
	return t
}

// condition names a pulse, a pressure and a voltage.
func condition(pulseMs, kPa, v float64) string {
	return fmt.Sprintf("%s ms %s kPa %s V", number(pulseMs), number(round(kPa, 1)), number(round(v, 2)))
}

func (r FitResult) formTable() Table {
	t := Table{
		Name: "forms", Title: "Forms tried", Corner: "dead_time", Row: textColumn("dead time"),
		About: "The criterion (AICc, less that of the best) proposes: a better fit, less a price for each parameter. Readings held out decide: their scatter in standard uncertainties.",
		Cols: []Column{
			textColumn("short pulses"), {Name: "parameters", Title: "Parameters", UCUM: "1"},
			{Name: "criterion", Title: "Criterion", UCUM: "1", Decimals: 1}, {Name: "held_out", Title: "Held out", UCUM: "1", Decimals: 2}, textColumn("verdict"),
		},
	}
	for _, f := range r.Forms {
		chosen := ""
		if f.Chosen {
			chosen = "chosen"
		}
		heldOut := Cell{Status: diag.NotMeasured}
		if f.HeldOut > 0 {
			heldOut = Cell{Value: f.HeldOut}
		}
		t.RowText = append(t.RowText, f.DeadTime)
		t.Cells = append(t.Cells, []Cell{{Text: f.ShortPulse}, {Value: float64(f.Parameters)}, {Value: f.AICc}, heldOut, {Text: chosen}})
	}
	return t
}

// benchFluid names the fluid that a session was run with.
func benchFluid(m *fit.Model) string {
	if s := m.Checked.Setup(); s.HasFluid {
		return s.Fluid.Title
	}
	return "which the bench file does not name"
}

package tables

import (
	"fmt"
	"math"
	"slices"

	"injtab/fit/diag"
)

// Report lays the verification out, the answer first.
func (v Verification) Report(facts []Fact) Report {
	return Report{Title: "Verification of the tables", Answer: v.answer(), Facts: facts, Sections: []Section{v.section()}, Next: v.next()}
}

// Section is the verification as a part of a larger report.
func (v Verification) Section() Section {
	s := v.section()
	s.Text = v.answer()
	regions := v.Table()
	regions.Aside = true
	s.Tables = append(s.Tables, regions)
	return s
}

// SectionBeside is Section with what readings held out of a second fit say; nil: none
// were.
func (v Verification) SectionBeside(heldOut *Verification) Section {
	s := v.Section()
	if heldOut != nil {
		last := len(s.Text) - 1 // which advises to hold readings out
		s.Text[last] = heldOut.Sentence()
	}
	return s
}

func (v Verification) section() Section {
	return Section{
		Name: "verify", Heading: "How well the tables agree with the readings",
		Tables: []Table{v.formTable(), v.voltageTable(), v.worstTable(), v.apartTable()},
		Charts: []Chart{v.regionChart(), v.errorChart()},
	}
}

// Sentence is the verification in one sentence.
func (v Verification) Sentence() string {
	if v.HeldOut != "" {
		return fmt.Sprintf("Fitted again without %s and compared with those alone: within %.2f %% of 95 of 100 and within %.2f %% on average (%s).",
			v.HeldOut, v.P95, v.MeanAbs, counted(v.Points, "reading"))
	}
	return fmt.Sprintf("Used as an ECU uses them, the tables come within %.2f %% of 95 of 100 readings and within %.2f %% on average (%s; percentage and added time).",
		v.P95, v.MeanAbs, counted(v.Points, "reading"))
}

func (v Verification) answer() []string {
	var out []string
	if v.WithinPct > 0 {
		verdict := "hold"
		if v.Broken() {
			verdict = "break"
		}
		out = append(out, fmt.Sprintf("The tables %s the limit of %.4g %%: the 95th percentile of the errors is %.2f %%; %s beyond it.", verdict, v.WithinPct, v.P95, counted(v.OutsideTolerance, "reading")))
	}
	out = append(out, v.Sentence())
	if best := v.best(); best.Points > 0 && best.P95 < v.P95 {
		out = append(out, fmt.Sprintf("Best is %s: %.2f %% at the 95th percentile.", best.words(), best.P95))
	}
	if w := v.Worst; w != nil {
		out = append(out, fmt.Sprintf("Worst is %+.2f %% at injector %s, %s ms, %s kPa, %s V.", w.ErrorPct, w.Injector, number(w.PulseMs), number(round(w.PressureKPa, 1)), number(round(w.VoltageV, 2))))
	}
	if s := v.Shares; s != nil {
		out = append(out, fmt.Sprintf("Root mean square, the errors are %.2f %%. For scale: the readings' own noise is about %.2f %%, the tables differ from the model that they were made from by %.2f %% (breakpoints, steps, form of trim), and %.2f %% is left that neither explains.", s.AllPct, s.ReadingPct, s.TablePct, s.ModelPct))
	}
	if v.HeldOut == "" {
		out = append(out, "These readings may be the ones that the tables were made from: --hold-out 'every 5th' asks readings that had no say.")
	} else {
		out = append(out, fmt.Sprintf("The readings compared (%s) had no say in the tables.", v.HeldOut))
	}
	return out
}

// best is the way of use with the smallest 95th percentile.
func (v Verification) best() (best FormErrors) {
	for _, f := range v.Forms {
		if best.Points == 0 || f.Points > 0 && f.P95 < best.P95 {
			best = f
		}
	}
	return best
}

// words name a way of use.
func (f FormErrors) words() string {
	out := f.title()
	if f.TwoWay {
		out += " with the short-pulse table over voltage"
	}
	return out
}

func (f FormErrors) title() string {
	i := slices.IndexFunc(Forms, func(x Form) bool { return x.String() == f.Form })
	if i < 0 {
		return f.Form
	}
	return Forms[i].Title()
}

func (v Verification) next() []string {
	if v.Broken() {
		return []string{"See where the errors are, by region below: repeat readings there, or give the axes more breakpoints."}
	}
	return nil
}

func (v Verification) formTable() Table {
	t := Table{
		Name: "forms", Title: "What each way of using the tables is worth", Corner: "trims", Row: textColumn("trims"),
		About: "Errors without sign; the bias has one, positive where injectors deliver less than the tables assume.",
		Cols: []Column{textColumn("short pulses"), percent("mean_abs_error_pct", "Mean error"), percent("p95_error_pct", "95 of 100 within"),
			percent("max_error_pct", "Largest"), percent("bias_pct", "Bias")},
	}
	for _, f := range v.Forms {
		table := "over pulse"
		if f.TwoWay {
			table = "also over voltage"
		}
		t.RowText = append(t.RowText, f.title())
		t.Cells = append(t.Cells, []Cell{{Text: table}, {Value: f.MeanAbs}, {Value: f.P95}, {Value: f.Max}, {Value: f.MeanSign}})
	}
	return t
}

func percent(name, title string) Column {
	return Column{Name: name, Title: title, Unit: "%", UCUM: "%", Decimals: 2}
}

// Table is the error by region of pulse, pressure and voltage.
func (v Verification) Table() Table {
	t := Table{
		Name: "regions", Title: "Error by region", Corner: "pulse_region", Row: textColumn("effective pulse"),
		Cols: []Column{
			{Name: "pressure_kpa", Title: "Pressure", Unit: "kPa", UCUM: "kPa"},
			{Name: "voltage_v", Title: "Voltage", Unit: "V", UCUM: "V", Decimals: 1},
			{Name: "readings", Title: "Readings", UCUM: "1"},
			{Name: "mean_abs_error_pct", Title: "Mean error", Unit: "%", UCUM: "%", Decimals: 2},
			{Name: "max_error_pct", Title: "Largest", Unit: "%", UCUM: "%", Decimals: 2},
		},
	}
	for _, r := range v.Regions {
		t.RowText = append(t.RowText, r.Pulse)
		t.Cells = append(t.Cells, []Cell{{Value: r.PressureKPa}, {Value: r.VoltageV}, {Value: float64(r.Points)}, {Value: r.MeanAbs}, {Value: r.Max}})
	}
	return t
}

// voltageTable is the mean error over regions of pulse and voltages, all pressures
// together.
func (v Verification) voltageTable() Table {
	var volts []float64
	for _, r := range v.Regions {
		if indexNear(volts, r.VoltageV) < 0 {
			volts = append(volts, r.VoltageV)
		}
	}
	slices.Sort(volts)
	t := grid("error_by_voltage", "Mean error without sign", textColumn("effective pulse"), nil, Column{Name: "voltage_v", Title: "Voltage", Unit: "V"}, volts,
		Column{Unit: "%", Decimals: 2})
	for _, region := range pulseRegions {
		row := make([]Cell, len(volts))
		for j, volt := range volts {
			row[j] = v.meanError(func(r RegionErrors) bool { return r.Pulse == region.name && math.Abs(r.VoltageV-volt) < 1e-9 })
		}
		t.RowText, t.Cells = append(t.RowText, region.name), append(t.Cells, row)
	}
	return t
}

// meanError is the mean over the readings of some regions.
func (v Verification) meanError(of func(RegionErrors) bool) Cell {
	sum, n := 0.0, 0.0
	for _, r := range v.Regions {
		if of(r) {
			sum, n = sum+r.MeanAbs*float64(r.Points), n+float64(r.Points)
		}
	}
	if n <= 0 {
		return Cell{Status: diag.NotMeasured}
	}
	return Cell{Value: sum / n}
}

func (v Verification) worstTable() Table {
	t := Table{
		Name: "worst", Title: "Readings with the largest errors", Corner: "injector", Row: injectorColumn(), Aside: true,
		Cols: []Column{textColumn("at"), {Name: "line", Title: "Line", UCUM: "1"}, percent("error_pct", "Error")},
	}
	for _, m := range v.Misses {
		t.RowText = append(t.RowText, m.Injector)
		t.Cells = append(t.Cells, []Cell{{Text: condition(m.PulseMs, m.PressureKPa, m.VoltageV)}, {Value: float64(m.Line)}, {Value: m.ErrorPct}})
	}
	return t
}

func (v Verification) apartTable() Table {
	a := v.Apart
	t := Table{Name: "apart", Title: "Readings counted apart", Corner: "readings", Row: textColumn("readings"), Aside: true,
		Cols: []Column{{Name: "number", Title: "Number", UCUM: "1"}}}
	count := func(name string, n int) {
		t.RowText, t.Cells = append(t.RowText, name), append(t.Cells, []Cell{{Value: float64(n)}})
	}
	count("compared", v.Points)
	count("outside the axes", v.OutsideAxes)
	count("held open", a.Static)
	count("leak tests", a.Leak)
	count("delivered nothing", a.Zero)
	count("judged wrong", a.Rejected)
	count("of injectors that the tables are not for", a.NotIn)
	count("where the tables have no value", a.NoValue)
	return t
}

// regionChart is the mean error by region of pulse, all pressures and voltages
// together.
func (v Verification) regionChart() Chart {
	c := Chart{
		Name: "error_by_region", Title: "Error by region of pulse", X: Scale{Title: "Effective pulse"}, Y: Scale{"Mean error, without sign", "%"},
		Alt: "The mean error without sign, for short to long pulses: short pulses are the hardest.",
	}
	s := Series{Name: "mean error", Kind: Bars}
	for _, region := range pulseRegions {
		if e := v.meanError(func(r RegionErrors) bool { return r.Pulse == region.name }); e.Status.HasValue() {
			s.X, s.Y = append(s.X, float64(len(c.Categories))), append(s.Y, e.Value)
			c.Categories = append(c.Categories, region.name)
		}
	}
	c.Series = []Series{s}
	return c
}

// errorChart is every reading's error over its effective pulse, or some and the largest;
// those off by more than the scale can show are at its edge.
func (v Verification) errorChart() Chart {
	c := Chart{
		Name: "error", Title: "Error of every reading", Aside: true, X: Scale{"Effective pulse", "ms"}, Y: Scale{"Error", "%"},
		Alt: "Each reading's error in per cent over its effective pulse; positive where the injector delivers less than the tables assume. Errors beyond the scale are drawn at its edge.",
	}
	edge := math.Max(3*v.P95, v.WithinPct)
	c.Title += ofReadings(v.Points)
	s := Series{Name: "readings", Kind: Points}
	i, large := -1, math.Inf(1)
	for _, m := range v.Misses {
		large = min(large, math.Abs(m.ErrorPct))
	}
	for p, x := range v.points() {
		i++
		if !drawn(i, v.Points) && (math.Abs(x.errorPct) < large || !slices.Contains(v.Misses, p.miss(x))) {
			continue
		}
		m := p.miss(x)
		s.X, s.Y = append(s.X, m.Effective), append(s.Y, math.Min(math.Max(m.ErrorPct, -edge), edge))
		s.Labels = append(s.Labels, "injector "+m.Injector+", "+condition(m.PulseMs, m.PressureKPa, m.VoltageV))
	}
	c.Series, c.Marks = []Series{s}, []Mark{{Name: "no error", At: 0}}
	if v.WithinPct > 0 {
		c.Marks = append(c.Marks, Mark{Name: "limit", At: v.WithinPct}, Mark{Name: "limit", At: -v.WithinPct})
	}
	return c
}

package export

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"injtab/fit"
	"injtab/fit/bench"
	"injtab/fit/diag/diagtest"
	"injtab/fit/sim"
	"injtab/fit/unit"
	"injtab/tables"
	"injtab/tables/plan"
)

// formInputs plan a session for four injectors of a simulated design.
func formInputs(d sim.Design) plan.Inputs {
	return plan.Inputs{
		Title: "Spring, 4 used injectors & a \"new\" rail", IDs: []string{"1", "2", "=3", "long name 4"}, Slots: 4, Purpose: plan.Both,
		Flow: d.Nominal().StaticFlow(unit.KPa(300)), DeadTime: d.Nominal().Truth().DeadTime(unit.KPa(300), 13.5),
		Vessel:        plan.Vessel{Capacity: unit.Ml(100)},
		PressureRange: [2]unit.Pressure{unit.KPa(200), unit.KPa(450)}, VoltageRange: [2]unit.Voltage{9, 15}, BenchTime: 150 * 60,
	}
}

func makePlan(t *testing.T, in plan.Inputs) plan.Plan {
	t.Helper()
	p, err := plan.Make(in)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func formBytes(t *testing.T, write func(w *bytes.Buffer) error) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func formBook(t *testing.T, f tables.FillForm) []byte {
	return formBytes(t, func(w *bytes.Buffer) error { return FormXLSX(w, f) })
}

func formCSV(t *testing.T, f tables.FillForm) []byte {
	return formBytes(t, func(w *bytes.Buffer) error { return FormCSV(w, f) })
}

// simulate runs the plan's session on simulated injectors and gives what would be
// written down, reading by reading.
func simulate(p plan.Plan, in plan.Inputs, d sim.Design, b sim.Bench, seed uint64) sim.Session {
	s := sim.Plan{Bench: b, IDs: in.IDs}
	seating := 0
	for _, r := range p.Order {
		if r.Seating != seating {
			step := sim.Step{}
			for _, slot := range r.Slots {
				step.IDs = append(step.IDs, slot.Injector)
			}
			s.Steps, seating = append(s.Steps, step), r.Seating
		}
		x, last := p.Points[r.Point], &s.Steps[len(s.Steps)-1]
		last.Points = append(last.Points, sim.Point{Pulse: unit.Ms(x.Pulse), Period: unit.Ms(x.Period),
			Pressure: unit.KPa(x.Pressure), Voltage: unit.Volts(x.Voltage), Duration: unit.Time(x.Duration)})
	}
	return s.Run(d, seed)
}

// fillIn writes amounts into the workbook as a user would: into the cells under
// volume_ml, row by row.
func fillIn(t *testing.T, book []byte, amounts []string) []byte {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(book))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := f.GetRows("readings")
	if err != nil {
		t.Fatal(err)
	}
	col := 0
	for i, h := range rows[0] {
		if h == "volume_ml" || h == "mass_g" {
			col = i + 1
		}
	}
	if col == 0 || len(rows)-1 != len(amounts) {
		t.Fatalf("amounts in column %d, %d rows for %d amounts", col, len(rows)-1, len(amounts))
	}
	for i, a := range amounts {
		if x, err := strconv.ParseFloat(a, 64); err == nil {
			if err := f.SetCellFloat("readings", at(col, i+2), x, -1, 64); err != nil {
				t.Fatal(err)
			}
		}
	}
	return formBytes(t, func(w *bytes.Buffer) error { return f.Write(w) })
}

func read(t *testing.T, file []byte, name string) bench.Sheet {
	t.Helper()
	s, err := bench.Read(bytes.NewReader(file), name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// An empty form is no bench file yet, and the sentence says so; with one amount it
// is, and all others count as missing.
func TestFormReadsBackWithEmptyAmountsMissing(t *testing.T) {
	p := makePlan(t, formInputs(sim.ByName("A")))
	f := p.Workbook()
	for name, file := range map[string][]byte{"form.csv": formCSV(t, f), "form.xlsx": formBook(t, f)} {
		if _, err := bench.Read(bytes.NewReader(file), name); err == nil || !strings.Contains(err.Error(), "prepared") {
			t.Errorf("%s empty: %v", name, err)
		}
	}
	want := p.Readings()
	amounts := make([]string, len(want))
	amounts[5] = "42.5"
	s := read(t, fillIn(t, formBook(t, f), amounts), "form.xlsx")
	if s.Readings.Len() != 1 || s.Missing != len(want)-1 {
		t.Fatalf("%d readings and %d missing, want 1 and %d", s.Readings.Len(), s.Missing, len(want)-1)
	}
	sameReading(t, s.Readings.At(0), want[5])
	if got := s.Readings.At(0).Volume.Ml(); math.Abs(got-42.5) > 1e-9 {
		t.Errorf("volume %v ml", got)
	}
	if s.Setup.Title != "Spring, 4 used injectors & a \"new\" rail" || s.Setup.Fluid.Name != "n-heptane" || s.Setup.VesselLimit != p.Setup().VesselLimit {
		t.Errorf("setup %+v", s.Setup)
	}
}

func sameReading(t *testing.T, got, want bench.Reading) {
	t.Helper()
	near := func(what string, a, b float64) {
		if math.Abs(a-b) > 1e-6*math.Abs(b) {
			t.Errorf("%s %v, want %v", what, a, b)
		}
	}
	near("pulse", float64(got.Pulse), float64(want.Pulse))
	near("period", float64(got.Period), float64(want.Period))
	near("shots", got.Shots, want.Shots)
	near("pressure", float64(got.Pressure), float64(want.Pressure))
	near("voltage", float64(got.Voltage), float64(want.Voltage))
	if got.Injector != want.Injector || got.Run != want.Run || got.Slot != want.Slot || got.Vessel != want.Vessel {
		t.Errorf("%s in run %s, slot %s, vessel %s; want %s in %s, %s, %s", got.Injector, got.Run, got.Slot, got.Vessel, want.Injector, want.Run, want.Slot, want.Vessel)
	}
}

// Plan, workbook, simulated session, reading, check and fit: the fit's intervals are
// those that were predicted, and hold the truth about as often as they say.
func TestPlannedSessionComesOutAsPredicted(t *testing.T) {
	d := sim.ByName("A")
	in := formInputs(d)
	p := makePlan(t, in)
	b := sim.GoodBench()
	s := simulate(p, in, d, b, 3)
	amounts := make([]string, len(s.Rows))
	for i, r := range s.Rows {
		amounts[i] = strconv.FormatFloat(r.Volume.Ml(), 'f', 0, 64)
	}
	sheet := read(t, fillIn(t, formBook(t, p.Workbook()), amounts), "session.xlsx")
	if sheet.Missing != 0 || sheet.Readings.Len() != len(amounts) {
		t.Fatalf("%d readings, %d missing, want %d and 0", sheet.Readings.Len(), sheet.Missing, len(amounts))
	}
	c, _, err := bench.Check(sheet)
	if err != nil {
		t.Fatal(err)
	}
	m, err := fit.Injectors(c, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	look := p.Prospect()
	inside, all := 0, 0
	judge := func(what string, got fit.Estimate, want fit.Prediction, truth float64) {
		t.Logf("%-28s truth %9.4f fitted %9.4f ± %.4f, predicted ± %.4f", what, truth, got.Value, got.CI95(), want.CI95)
		if ratio := got.CI95() / want.CI95; ratio < 0.6 || ratio > 1.6 {
			t.Errorf("%s: interval of ± %.4g where ± %.4g was predicted", what, got.CI95(), want.CI95)
		}
		all++
		if truth >= got.Lo && truth <= got.Hi {
			inside++
		}
	}
	for _, id := range in.IDs {
		g, ok := m.Find(id)
		if !ok {
			t.Fatalf("injector %s was not fitted: %+v", id, c.Injectors())
		}
		who, truth := fit.Who{g}, s.Units[id].Truth()
		for _, kPa := range []float64{200, 300, 450} {
			pr := unit.KPa(kPa)
			judge(fmt.Sprintf("%s: flow at %v kPa", id, kPa), m.Flow(who, pr), look.Flow(who, pr), s.Units[id].StaticFlow(pr).MlMin())
			for _, v := range []unit.Voltage{10, 13.5, 15} {
				judge(fmt.Sprintf("%s: dead time at %v kPa %v V", id, kPa, v), m.DeadTime(who, pr, v), look.DeadTime(who, pr, v), truth.DeadTime(pr, v).Ms())
			}
		}
	}
	if share := float64(inside) / float64(all); share < 0.85 {
		t.Errorf("%.0f %% of the intervals hold the truth", 100*share)
	}
}

// The check sheet works out what a user would on a calculator: LibreOffice's results
// against the same arithmetic in Go. It opens the file without repairing it.
func TestLibreOfficeWorksOutTheForm(t *testing.T) {
	p := makePlan(t, formInputs(sim.ByName("A")))
	want := p.Readings()
	amounts := make([]string, len(want))
	for i := range amounts {
		if i%3 != 0 {
			amounts[i] = strconv.Itoa(20 + i%60)
		}
	}
	out := office(t, fillIn(t, formBook(t, p.Workbook()), amounts), allSheets)
	lines := diagtest.ReadCSV(t, filepath.Join(out, "book-check.csv"))
	if len(lines) != len(want)+1 {
		t.Fatalf("%d lines, want %d", len(lines), len(want)+1)
	}
	expected := p.Workbook().Sheets[2]
	for i, l := range lines[1:] {
		x, err := strconv.ParseFloat(amounts[i], 64)
		if err != nil {
			if l[3] != "" || l[5] != "" {
				t.Errorf("row %d without an amount shows %q and %q", i+2, l[3], l[5])
			}
			continue
		}
		per := x / want[i].Shots
		sameNumber(t, i, l[3], per)
		if e := expected.Rows[i][4].Number; e > 0 {
			sameNumber(t, i, l[5], 100*(per/e-1))
		}
	}
}

func sameNumber(t *testing.T, row int, text string, want float64) {
	t.Helper()
	got, err := strconv.ParseFloat(text, 64)
	if err != nil || math.Abs(got-want) > 1e-9*math.Max(1, math.Abs(want)) {
		t.Errorf("row %d: %q, want %v", row+2, text, want)
	}
}

// Only the cells to fill in can be changed; they watch what is written; the header
// stays in view and on every page.
func TestFormIsLockedWatchedAndPrintable(t *testing.T) {
	p := makePlan(t, formInputs(sim.ByName("A")))
	f, err := excelize.OpenReader(bytes.NewReader(formBook(t, p.Workbook())))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	locked := func(sheet, cell string) bool {
		id, err := f.GetCellStyle(sheet, cell)
		if err != nil {
			t.Fatal(err)
		}
		s, err := f.GetStyle(id)
		if err != nil {
			t.Fatal(err)
		}
		return s.Protection == nil || s.Protection.Locked
	}
	if locked("readings", "J2") || locked("readings", "K2") || locked("setup", "B2") {
		t.Error("a cell to fill in is locked")
	}
	if !locked("readings", "I2") || !locked("readings", "D2") || !locked("check", "D2") || !locked("setup", "A2") {
		t.Error("a known cell is not locked")
	}
	rules, err := f.GetDataValidations("readings")
	if err != nil || len(rules) != 1 || rules[0].Type != "decimal" || rules[0].Formula1 != "0" || rules[0].Formula2 != "100" {
		t.Errorf("rules %+v, %v", rules, err)
	}
	lists, err := f.GetDataValidations("setup")
	if err != nil || !strings.Contains(fmt.Sprint(lists[0].Formula1), "n-heptane") {
		t.Errorf("rules of the setup %+v, %v", lists, err)
	}
	for _, sheet := range f.GetSheetList() {
		panes, err := f.GetPanes(sheet)
		if err != nil || !panes.Freeze || panes.YSplit != 1 {
			t.Errorf("%s: panes %+v, %v", sheet, panes, err)
		}
	}
	titles := 0
	for _, n := range f.GetDefinedName() {
		if n.Name == "_xlnm.Print_Titles" {
			titles++
		}
	}
	if titles != 4 {
		t.Errorf("%d sheets repeat their header in print, want 4", titles)
	}
}

func TestSameFormSameBytes(t *testing.T) {
	in := formInputs(sim.ByName("A"))
	a, b := makePlan(t, in), makePlan(t, in)
	if !bytes.Equal(formBook(t, a.Workbook()), formBook(t, b.Workbook())) || !bytes.Equal(formCSV(t, a.Workbook()), formCSV(t, b.Workbook())) {
		t.Error("the same plan gives another form")
	}
}

// A title that a spreadsheet would run is defused in the CSV and comes back as it was.
func TestFormGuardsTexts(t *testing.T) {
	in := formInputs(sim.ByName("A"))
	in.Title = "=1+1"
	file := formCSV(t, makePlan(t, in).Workbook())
	r := csv.NewReader(bytes.NewReader(file))
	r.FieldsPerRecord = -1
	lines, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range lines {
		for _, c := range l {
			if c != "" && strings.ContainsRune("=+-@", rune(c[0])) {
				t.Errorf("cell %q would be run", c)
			}
		}
	}
	filled := strings.Replace(string(file), ",,\n", ",1,\n", 1)
	s := read(t, []byte(filled), "form.csv")
	if s.Setup.Title != "=1+1" {
		t.Errorf("title %q", s.Setup.Title)
	}
}

func BenchmarkFormXLSX(b *testing.B) {
	p, err := plan.Make(formInputs(sim.ByName("A")))
	if err != nil {
		b.Fatal(err)
	}
	f := p.Workbook()
	for b.Loop() {
		var w bytes.Buffer
		if err := FormXLSX(&w, f); err != nil {
			b.Fatal(err)
		}
	}
}

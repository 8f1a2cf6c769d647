package main

import (
	"bytes"
	"fmt"
	"maps"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"injtab/export"
	"injtab/fit/diag"
	"injtab/fit/diag/diagtest"
	"injtab/fit/fluid"
	"injtab/fit/unit"
	"injtab/tables"
	"injtab/tables/engine"
)

// What a user may type into the headroom sheet of the demonstration, with the
// beginning of the verdict and of what it rests on.
var whatIfs = []struct {
	typed            map[string]any
	verdict, footing string
}{
	{nil, within, measured},
	{map[string]any{"room_power": 120.0, "room_rpm": 4100.0, "room_voltage": 12.3, "room_pressure": 264.0, "room_injector": "L3"}, within, measured},
	{map[string]any{"room_fuel": "E85", "room_power": 150.0}, "TOO MUCH", measured},
	{map[string]any{"room_fuel": "E10", "room_bsfc": 350.0, "room_bsfc_fuel": "E10", "room_injectors": 12.0, "room_shots": 2.0}, within, measured},
	{map[string]any{"room_power": 300.0}, "NOT POSSIBLE: the pulse", measured},
	{map[string]any{"room_pressure": 500.0, "room_limit": 70.0}, within, "OUTSIDE THE TABLES, where the last value is held and nothing supports it: pressure"},
	{map[string]any{"room_voltage": 7.0, "room_pressure": 100.0}, "TOO MUCH", "OUTSIDE THE TABLES, where the last value is held and nothing supports it: pressure voltage"},
	{map[string]any{"room_power": 1.0}, "TOO LITTLE", "OUTSIDE THE TABLES, where the last value is held and nothing supports it: short pulse"},
	{map[string]any{"room_power": 4.2}, "TOO LITTLE", "EXTRAPOLATED"},
}

func TestHeadroomSheetSaysWhatIsWrong(t *testing.T) {
	_, _, sheets := demoSheets(t)
	for _, w := range whatIfs {
		k := typed(sheets["headroom"], w.typed).Known()
		if v, f := k["room_verdict"].Text, k["room_footing"].Text; !strings.HasPrefix(v, w.verdict) || !strings.HasPrefix(f, w.footing) {
			t.Errorf("%v: %q, resting on %q; u %v pulse %v", w.typed, v, f, k["room_u"].Number, k["room_pulse"].Number)
		}
	}
}

// Where the dead-time table has no value there is no answer, and where the injector
// needs more time off than there is none that can be used.
func TestHeadroomSheetKnowsTheInjectorsLimits(t *testing.T) {
	j, _, sheets := demoSheets(t)
	dead, _ := j.set.Find("dead_time")
	limits, _ := j.set.Find("limits")
	for r := range dead.Cells {
		dead.Cells[r][0] = tables.Cell{Status: diag.DoesNotOpen}
	}
	limits.Cells[0][columnOf(limits, "closing_time_ms")] = tables.Cell{Value: 6.5}
	for want, inputs := range map[string]map[string]any{
		"NO ANSWER":                         {"room_pressure": dead.Cols[0].At},
		"NOT POSSIBLE: too little time off": {"room_injector": limits.RowText[0]},
	} {
		if got := typed(sheets["headroom"], inputs).Known()["room_verdict"].Text; !strings.HasPrefix(got, want) {
			t.Errorf("%v: %q, want %q", inputs, got, want)
		}
	}
}

// The sheet's fuel is that of the engine's side, its pulse that of the look-up, its
// duty that of the engine's side for an injector with that look-up's figures.
func TestHeadroomSheetAgreesWithTheEngine(t *testing.T) {
	j, ecu, sheets := demoSheets(t)
	for _, w := range whatIfs {
		c := typed(sheets["headroom"], w.typed)
		k := known(c.Known())
		fuel := mustFluid(t, k["room_fuel"].Text)
		ml := unit.Mass(k.of("room_mg")/1e6).Of(fuel.At(unit.Celsius(15))).Ml() / fluid.VolumeFactor(j.set.Density, fuel.At(unit.Celsius(15)))
		pulse, err := ecu.Pulse(k["room_injector"].Text, tables.FlowAndTime, false, ml, k.of("room_pressure"), k.of("room_voltage"))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "pulse", k.of("room_pulse"), pulse, 1e-4)
		in := engine.Inputs{
			Cylinders: 12, Injectors: int(k.of("room_injectors")), PulsesPerCycle: int(k.of("room_shots")), RPM: k.of("room_rpm"),
			Power: unit.Powers.In(k.of("room_power"), "kW"), BSFC: unit.Consumptions.In(k.of("room_bsfc"), "g/kWh"), BSFCFuel: mustFluid(t, k["room_bsfc_fuel"].Text), Fuel: fuel,
			Pressure: unit.KPa(k.of("room_pressure")), Voltage: unit.Volts(k.of("room_voltage")), Duty: unit.Ratio(k.of("room_limit") / 100),
		}
		injector := engine.DataSheet{
			Flow: unit.MlMin(k.of("room_flow") / (1 + k.of("room_trim")/100)), Rated: in.Pressure, Exponent: 0.5,
			Dead: unit.Ms(pulse - k.of("room_u")), Liquid: fluid.Fluid{Density: j.set.Density},
		}
		r, err := engine.Headroom(in, []engine.Injector{injector}, engine.Target{})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "fuel of the engine", k.of("room_fuel_flow"), r.Now.FuelMass, 1e-4)
		near(t, "window", k.of("room_cycle"), r.Now.Window, 1e-9)
		near(t, "duty", k.of("room_duty"), r.Now.Duty, 1e-4)
		near(t, "headroom", 100+k.of("room_left"), 100+r.Limit-r.Now.Duty, 1e-3)
		if most := k.of("room_most"); most > 0 {
			at := known(typed(c, map[string]any{"room_power": most}).Known())
			near(t, "duty at the most power", at.of("room_duty"), r.Limit, 2e-3)
		}
	}
}

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: got %v, want %v", what, got, want)
	}
}

func mustFluid(t *testing.T, name string) fluid.Fluid {
	t.Helper()
	f, err := fluid.Lookup(name)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Without an engine the sheet begins with a supposed one that the injectors can feed,
// and says of each figure that it was assumed.
func TestHeadroomSheetWithoutAnEngine(t *testing.T) {
	j, _, _ := demoSheets(t)
	list, err := liveSheets(j.set, nil)
	if err != nil {
		t.Fatal(err)
	}
	k := list[1].Known()
	if duty := k["room_duty"].Number; !(duty > 50 && duty < 85) {
		t.Errorf("it begins with a duty of %v %%", duty)
	}
	for name, want := range map[string]bool{"room_power": true, "room_bsfc": true, "room_rpm": true, "room_injectors": true, "room_limit": true, "room_pressure": false, "room_voltage": false, "room_density": false} {
		if got := k[name].Assumed != ""; got != want {
			t.Errorf("%s: assumed is %v, want %v", name, got, want)
		}
	}
	if n := k["room_injectors"].Number; math.Abs(n-6) > 1e-9 {
		t.Errorf("%v injectors, want the six that are seated", n)
	}
}

// Readers that can't calculate see the numbers and the sentences that Go works out.
func TestHeadroomSheetIsStored(t *testing.T) {
	j, _, sheets := demoSheets(t)
	var book bytes.Buffer
	report := j.Tables.Report()
	report.Sections = j.Tables.Sheets()
	if err := export.Workbook(&book, report, []export.Calculation{sheets["headroom"]}); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(&book, excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	known, seen := sheets["headroom"].Known(), 0
	for _, n := range f.GetDefinedName() {
		e, ok := known[n.Name]
		if !ok || e.Formula == "" {
			continue
		}
		sheet, cell := addressOf(n)
		want := e.Text
		if e.Says == nil {
			want = fmt.Sprintf("%.9g", e.Number)
		}
		if got, err := f.GetCellValue(sheet, cell); err != nil || !sameValue(got, want) {
			t.Errorf("%s: %q is stored (%v), want %q", n.Name, got, err, want)
		}
		seen++
	}
	if seen < 40 {
		t.Errorf("%d entries were compared", seen)
	}
}

// LibreOffice, which has no stored value to lean on after an input was changed, comes
// to what Go does for every number and every sentence of the sheet.
func TestLibreOfficeCalculatesTheHeadroom(t *testing.T) {
	soffice, err := exec.LookPath("soffice")
	if err != nil {
		if os.Getenv("CI_REQUIRE") == "1" {
			t.Fatal("soffice is not installed and CI_REQUIRE=1 asks for it")
		}
		t.Skip("soffice is not installed")
	}
	j, _, sheets := demoSheets(t)
	var book bytes.Buffer
	report := j.Tables.Report()
	report.Sections = j.Tables.Sheets()
	if err := export.Workbook(&book, report, slices.Collect(maps.Values(sheets))); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	args := []string{"--headless", "-env:UserInstallation=file://" + dir + "/profile", "--convert-to", "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false,false,false,-1", "--outdir", dir}
	for i, w := range whatIfs {
		path := filepath.Join(dir, fmt.Sprintf("%d.xlsx", i))
		typeInto(t, book.Bytes(), path, w.typed)
		args = append(args, path)
	}
	if out, err := exec.Command(soffice, args...).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	for i, w := range whatIfs {
		c := typed(sheets["headroom"], w.typed)
		lines := column2(t, filepath.Join(dir, fmt.Sprintf("%d-headroom.csv", i)))
		known := c.Known()
		for _, e := range slices.Concat(c.Entries, c.Steps) {
			if e.Formula == "" {
				continue
			}
			want := known[e.Name].Text
			if e.Says == nil {
				want = fmt.Sprintf("%.9g", known[e.Name].Number)
			}
			if !slices.ContainsFunc(lines[e.Label], func(got string) bool { return sameValue(got, want) }) {
				t.Errorf("%v: %s is %q, want %q", w.typed, e.Label, lines[e.Label], want)
			}
		}
	}
}

// sameValue compares texts, and numbers to six digits.
func sameValue(got, want string) bool {
	var x, y float64
	if _, err := fmt.Sscan(want, &y); err != nil {
		return got == want
	}
	_, err := fmt.Sscan(got, &x)
	return err == nil && math.Abs(x-y) <= 1e-6*math.Max(1e-3, math.Abs(y))
}

// typeInto changes inputs in a workbook and leaves no value that was worked out.
func typeInto(t *testing.T, book []byte, path string, inputs map[string]any) {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(book))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for _, n := range f.GetDefinedName() {
		sheet, cell := addressOf(n)
		if x, ok := inputs[n.Name]; ok {
			if err := f.SetCellValue(sheet, cell, x); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := f.UpdateLinkedValue(); err != nil {
		t.Fatal(err)
	}
	if err := f.SaveAs(path); err != nil {
		t.Fatal(err)
	}
}

// addressOf is the first cell that a name stands for.
func addressOf(n excelize.DefinedName) (sheet, cell string) {
	sheet, cells, _ := strings.Cut(n.RefersTo, "!")
	cell, _, _ = strings.Cut(strings.ReplaceAll(cells, "$", ""), ":")
	return strings.Trim(sheet, "'"), cell
}

// column2 gives the second cells of the rows by the first.
func column2(t *testing.T, path string) map[string][]string {
	t.Helper()
	out := map[string][]string{}
	for _, l := range diagtest.ReadCSV(t, path) {
		if len(l) > 1 {
			out[l[0]] = append(out[l[0]], l[1])
		}
	}
	return out
}

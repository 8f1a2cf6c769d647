package main

import (
	"bytes"
	"io"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"injtab/export"
	"injtab/fit"
	"injtab/fit/fluid"
	"injtab/fit/unit"
	"injtab/tables"
	"injtab/tables/engine"
)

const tablesAbout = `Lays the fitted injectors out as an ECU holds them: static flow over pressure, dead time
over voltage and pressure, short-pulse correction, and trims for each injector. Writes one
CSV a table, cells.csv with the interval and basis of every cell, a workbook, and
datapackage.json, as one folder.

The pulse for a wanted volume of m ml per shot is
  u  = 60000 · m / flow(pressure)
  uc = u · (1 + trim / 100)
  pulse = uc + short_pulse(uc) + dead_time(voltage, pressure) + dead_time_trim
or with one of the other forms of trim that the folder holds; one is used at a time.`

const tablesExample = `  injtab demo
  injtab tables injtab-demo/bench.csv -o my-tables --of 6 --firing-order 1-5-3-6-2-4
  injtab tables injtab-demo/bench.csv -o other-tables --seats 1=L1,2=L3,3=L4,4=L8 --fuel E10 --step 10us
  injtab tables injtab-demo/bench.csv --print dead_time --unit us --axes --voltage-axis '10..14V by 2V' --pressure-axis 250,300,350kPa
`

// A tableChoice is what the flags of the tables say.
type tableChoice struct {
	fit      fit.Options
	options  tables.Options
	fuel     string
	fuelTemp unit.Temperature
	step     unit.Time
	out      string
	force    bool
	print    string
	paste    pasteChoice
	axisFile string
	engine   engineChoice

	match     matchChoice
	setNumber int // of several sets, the one that the tables are for
}

func (a *app) tablesVerb() *cobra.Command {
	var t tableChoice
	c := a.verb("tables BENCH -o DIR", "Build the tables that an ECU holds", tablesAbout, tablesExample, files("BENCH"))
	f := c.Flags()
	f.StringVarP(&t.out, "output", "o", "", "folder `DIR` to write")
	f.BoolVar(&t.force, "force", false, "replace a folder of tables that exists")
	f.StringVar(&t.print, "print", "", "print the numbers of this `TABLE`, between tabs, instead of writing a folder")
	f.StringVar(&t.engine.file, "engine", "", "engine `FILE` that the workbook's headroom sheet begins with")
	t.paste.register(f)
	t.register(f)
	fitFlags(f, &t.fit)
	a.longForms(f, "the table that --print names")
	c.RunE = func(_ *cobra.Command, args []string) error {
		if t.print != "" {
			return a.printTable(args[0], t)
		}
		return a.writeTables(args[0], t)
	}
	return c
}

// register adds the flags that shape the tables.
func (t *tableChoice) register(f *pflag.FlagSet) {
	axisFlag(f, &t.options.Pressure, unit.Pressures, "kPa", "pressure-axis", "pressures of the tables, such as 250,300,350kPa, or how many")
	axisFlag(f, &t.options.Voltage, unit.Voltages, "V", "voltage-axis", "voltages of the tables, such as 10,12,14V, or how many")
	axisFlag(f, &t.options.Pulse, unit.Times, "ms", "pulse-axis", "effective pulses of the tables, such as 1,1.5,2,4ms, or how many")
	f.Var(&names{to: &t.options.Injectors}, "injectors", "injectors that the tables are for (default: all sound ones)")
	f.Var(&seats{to: &t.options.Cylinders}, "seats", "cylinder of each injector, such as 1=7,2=3; then the tables are for these")
	t.match.register(f)
	f.IntVar(&t.setNumber, "set", 1, "of several sets, the one that the tables are for")
	f.StringVar(&t.fuel, "fuel", "", "`FUEL` that flows and volumes are for (default: the bench fluid); `injtab fluids` lists them")
	quantityFlag(f, &t.fuelTemp, unit.Temperatures, "fuel-temp", "temperature of that fuel at the injector (default 20C)")
	quantityFlag(f, &t.step, unit.Times, "step", "smallest step of the ECU's times (default 0.001ms)")
	f.StringVar(&t.axisFile, "axis-file", "", "`FILE` with the axes that the ECU has, a line each, such as voltage_v: 8, 10, 12")
	f.Var(&round{to: &t.options}, "round-axis", "steps that chosen breakpoints are multiples of, such as 0.05ms,0.5V,10kPa")
	f.Var(&weights{to: &t.options.Profile}, "weight", "how much a miss counts at places of the axes, such as 1.5ms=3,13.8V=2")
	f.BoolVar(&t.options.Each, "each", false, "also a flow and a dead-time table of its own for every injector")
	f.BoolVar(&t.options.Extrapolate, "extrapolate", false, "fill cells however far they lie from the readings")
	f.BoolVar(&t.options.RawTrims, "raw-trims", false, "keep trims that are smaller than their own uncertainty")
}

// complete turns the flags' texts into the options of the tables.
func (t *tableChoice) complete(a *app) error {
	t.options.Step, t.options.FuelTemp = t.step.Ms(), t.fuelTemp
	if err := a.readAxes(t.axisFile, &t.options); err != nil {
		return err
	}
	if t.setNumber < 0 {
		return usage("--set: sets are counted from 1")
	}
	if err := t.match.complete(); err != nil {
		return err
	}
	if t.fuel == "" {
		if t.fuelTemp > 0 {
			return usage("--fuel-temp says nothing without --fuel")
		}
		return nil
	}
	f, err := fluid.Lookup(t.fuel)
	if err != nil {
		return usage("--fuel: %w", err)
	}
	t.options.Fuel = &f
	return nil
}

// build fits the session and makes the tables.
func (a *app) build(path string, t *tableChoice) (session, *fit.Model, tables.Set, error) {
	if err := t.complete(a); err != nil {
		return session{}, nil, tables.Set{}, err
	}
	s, m, err := a.fitSession(path, t.fit)
	if err != nil {
		return s, nil, tables.Set{}, err
	}
	if _, err := t.seat(s.checked); err != nil {
		return s, nil, tables.Set{}, err
	}
	defer a.working("laying out tables")()
	set, err := tables.Build(m, t.options)
	if err != nil {
		return s, m, set, usageError{err}
	}
	return s, m, set, nil
}

func (a *app) printTable(path string, t tableChoice) error {
	if t.out != "" {
		return usage("--print shows a table and writes nothing: leave out --output, or --print")
	}
	if t.engine.file != "" {
		return usage("--engine is for the workbook, which --print does not write: leave out one of them")
	}
	if err := t.paste.steps(); err != nil {
		return err
	}
	s, _, set, err := a.build(path, &t)
	if err != nil {
		return err
	}
	a.warn(s.notes...)
	a.warn(set.Notes...)
	table, ok := set.Find(t.print)
	if !ok {
		return usage("--print: there is no table %q%s: this session gives %s", t.print, meant(t.print, tableNames(set), ""), strings.Join(tableNames(set), ", "))
	}
	if !a.json && !a.csv && !a.markdown {
		t.paste.complete(t, s.checked.Setup())
		grid, err := tables.Paste(table, t.paste.options)
		if err != nil {
			return usage("--print: %w", err)
		}
		_, err = io.WriteString(a.out, tables.TSV(grid))
		return err
	}
	return a.show(result{json: tables.NewTableResult(table), report: tables.TableReport(table), table: &table})
}

func tableNames(set tables.Set) (names []string) {
	for _, t := range set.Tables {
		names = append(names, t.Name)
	}
	return names
}

func (a *app) writeTables(path string, t tableChoice) error {
	switch {
	case t.out == "":
		return usage("name the folder to write: -o DIR; or a table to show: --print TABLE")
	case t.paste.given():
		return usage("--unit, --pressure-unit, --add-pressure, --round, --axes, --transpose and --reverse-… speak of a table that --print shows: name it, or leave them out")
	case a.csv:
		return usage("--csv needs --print TABLE: the folder holds every table as CSV anyway")
	}
	if err := a.outputBeside(t.out, t.force, path).CheckFolder(); err != nil {
		return err
	}
	s, m, set, err := a.build(path, &t)
	if err != nil {
		return err
	}
	r := tables.NewSetResult(set, s.checked.Sheet().SHA256, s.notes)
	in, err := a.engineBehind(t)
	if err != nil {
		return err
	}
	if v, err := verifySet(set, m, tables.VerifyOptions{}); err == nil {
		v = v.Sums()
		r.Verification = &v
	}
	// From here on session and model are not used, so that their memory, of a million readings
	// 130 MB, is there for the workbook.
	from, notes, readings := s.origin(), s.notes, s.checked.Readings().Len()
	files, err := tableFiles(from, set, r, t.options, in)
	if err != nil {
		return err
	}
	if err := a.writeFolder(a.output(t.out, t.force), files); err != nil {
		return err
	}
	thriftless(readings)
	r.Folder, r.Files = t.out, fileNames(files)
	a.remark(notes...)
	a.remark(set.Notes...)
	if a.json {
		r = r.WithTables()
	}
	return a.show(result{json: r, report: r.Summary()})
}

// engineBehind are the inputs of the engine that the workbook's headroom sheet begins
// with; nil where no file was given.
func (a *app) engineBehind(t tableChoice) (*engine.Inputs, error) {
	if !t.engine.any() {
		return nil, nil
	}
	choice := t.engine.with(t)
	in, err := a.engineInputs(choice)
	if err != nil {
		return nil, err
	}
	if _, err := engine.ConditionOf(in); err != nil {
		return nil, choice.wrong(err)
	}
	return &in, nil
}

// verifySet compares tables that were just made with the readings.
func verifySet(set tables.Set, m *fit.Model, o tables.VerifyOptions) (tables.Verification, error) {
	ecu, err := tables.NewECU(set.Tables)
	if err != nil {
		return tables.Verification{}, err
	}
	ecu.VolumeFactor = set.VolumeFactor
	return tables.Verify(ecu, m.Checked, o)
}

// tableFiles are the files of a folder of tables, the manifest last. in is the engine
// that the workbook begins with, if one is known. The workbook takes as long as all else
// together, so it is made while that is written.
func tableFiles(from origin, set tables.Set, r tables.SetResult, o tables.Options, in *engine.Inputs, others ...export.NamedFile) ([]export.NamedFile, error) {
	about := set.Session(o)
	list := append(append([]tables.Table{}, set.Tables...), about)
	book := export.FileBeside(workbookName, func() ([]byte, error) { return workbook(from, r, set, about, in) })
	files, err := csvFiles(list)
	if err != nil {
		return nil, err
	}
	files = append(append(files, book), others...)
	last := export.FileBeside(export.ManifestName, func() ([]byte, error) {
		last, err := export.NewManifest("Injector tables", "Made from "+from.file+".", []export.Input{from.input}, list, files).JSON()
		return last.Data, err
	})
	return append(files, last), nil
}

func csvFiles(list []tables.Table) (files []export.NamedFile, err error) {
	var buf bytes.Buffer
	for _, t := range list {
		buf.Reset()
		if err := export.CSV(&buf, t); err != nil {
			return nil, err
		}
		files = append(files, export.NamedFile{Name: t.Name + ".csv", Data: bytes.Clone(buf.Bytes())})
	}
	cells, err := export.LargeFile("cells.csv", func(w io.Writer) error { return export.Cells(w, list) })
	return append(files, cells), err
}

func fileNames(files []export.NamedFile) (names []string) {
	for _, f := range files {
		names = append(names, f.Name)
	}
	return names
}

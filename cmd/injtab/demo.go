package main

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"injtab/export"
	"injtab/fit/sim"
	"injtab/tables"
	"injtab/tables/engine"
	"injtab/tables/match"
)

const demoAbout = `Does the whole job on a bench file that comes with the program, of an invented engine: a
harbour launch with a straight six, and eleven used injectors of which six are to go in.
Everything is written to one folder, which the examples of the other verbs use. The same
folder may be written again as long as nothing in it was edited.`

const demoExample = `  injtab demo
  injtab demo -o another-folder --force
`

// demoEngine is the launch, as an engine file.
const demoEngine = `title: Harbour launch
cylinders: 6
displacement: 3.7L
rpm: 5200
power: 185kW
fuel: gasoline
`

func (a *app) demoVerb() *cobra.Command {
	var dir string
	var force bool
	c := a.verb("demo", "Do the whole job on a built-in bench file", demoAbout, demoExample, files())
	c.Flags().StringVarP(&dir, "output", "o", "injtab-demo", "folder `DIR` to write")
	c.Flags().BoolVar(&force, "force", false, "replace the folder even if a file in it was edited")
	a.forms(c.Flags(), "")
	c.RunE = func(*cobra.Command, []string) error { return a.demo(dir, force) }
	return c
}

// A demoResult is what the demonstration did.
type demoResult struct {
	Folder string   `json:"folder"`
	Files  []string `json:"files"`
	job
}

func (a *app) demo(dir string, force bool) error {
	s, err := checkSession("bench.csv", bytes.NewReader(sim.DemoCSV()))
	if err != nil {
		return err
	}
	o := a.output(dir, force)
	if !force {
		o.Replace = export.IfUnedited
	}
	if m, err := export.ReadManifest(dir); !force && err == nil && (len(m.Inputs) == 0 || m.Inputs[0].Hash != s.input().Hash) {
		return fmt.Errorf("folder %s holds tables of another bench file, which the demonstration does not replace; name another folder with -o, or give --force", dir)
	}
	if err := o.CheckFolder(); err != nil {
		return err
	}
	a.inputs = append(a.inputs, s.input())
	j, err := a.doDemo(s)
	if err != nil {
		return err
	}
	files, err := a.demoFiles(j)
	if err != nil {
		return err
	}
	if err := a.writeFolder(o, files); err != nil {
		return err
	}
	if a.json {
		a.tell(j)
	}
	return a.show(result{json: demoResult{dir, fileNames(files), j}, report: j.screen(dir, len(files))})
}

func (a *app) doDemo(s session) (job, error) {
	var t tableChoice
	t.fuel = "gasoline"
	t.match.sets = "1"
	t.match.options.Of, t.match.options.Spares = 6, 1
	t.match.options.FiringOrder = []int{1, 5, 3, 6, 2, 4}
	if err := t.complete(a); err != nil {
		return job{}, err
	}
	in, err := engine.ReadFile(bytes.NewReader([]byte(demoEngine)), "engine.yaml")
	if err != nil {
		return job{}, err
	}
	return a.do(s, &t, engineChoice{ready: &in})
}

// demoFiles are the bench file, the engine file, what each verb says as text, the
// tables and the page.
func (a *app) demoFiles(j job) ([]export.NamedFile, error) {
	others := []export.NamedFile{{Name: "bench.csv", Data: sim.DemoCSV()}, {Name: "engine.yaml", Data: []byte(demoEngine)}}
	texts := []struct {
		name   string
		report tables.Report
	}{
		{"check.txt", j.Check.Report()}, {"fit.txt", j.Fit.Report()}, {"match.txt", j.Match.Report()},
		{"verify.txt", j.Verify.Report(nil)}, {"size.txt", j.Size.Report()}, {"headroom.txt", j.Headroom.Report()},
	}
	for _, t := range texts {
		var buf bytes.Buffer
		if err := export.Text(&buf, t.report, export.TextOptions{ASCII: a.ascii}); err != nil {
			return nil, err
		}
		others = append(others, export.NamedFile{Name: t.name, Data: buf.Bytes()})
	}
	page, err := pageOf(j.report())
	if err != nil {
		return nil, err
	}
	others = append(others, export.NamedFile{Name: "report.html", Data: page})
	return tableFiles(j.session.origin(), j.set, j.Tables, j.options, j.inputs, others...)
}

// screen is the answer on one screen.
func (j job) screen(dir string, files int) tables.Report {
	return tables.Report{
		Title:  title(j.session),
		Answer: j.answer(j.Check.Report().Answer...),
		Sections: []tables.Section{{
			Name: "seats", Heading: "What goes where, and what to type in", Tables: []tables.Table{j.Tables.Seats(j.model)},
		}, {
			Name: "mistakes", Heading: "Mistakes that were caught", Notes: j.session.notes,
		}},
		Next: []string{
			fmt.Sprintf("%d files are in %s: open report.html, which has everything on one page; tables.xlsx has the tables to copy.", files, dir),
			fmt.Sprintf("Prove the files yourself: injtab verify %s %s/bench.csv", dir, dir),
			fmt.Sprintf("Ask what the set has left: injtab headroom --bench %s/bench.csv --engine %s/engine.yaml --ids %s --target-power 200kW", dir, dir, strings.Join(j.Match.Sets[0].Injectors, ",")),
			"Your own readings: README.md says how a bench file is written, `injtab check --help` how it is judged.",
		},
		Cautions: tables.Cautions(),
	}
}

// keep says which injectors go in.
func (j job) keep() string {
	set := j.Match.Sets[0]
	return fmt.Sprintf("Keep %s: at the point where they differ most they spread %.2f %%; %s.", strings.Join(set.Injectors, ", "), set.SpreadPct, proven(set))
}

func proven(s match.Set) string {
	if s.Proof == "optimal" {
		return "it is proven that no others do better"
	}
	return fmt.Sprintf("no others can do better than %.2f %%", s.BoundPct)
}

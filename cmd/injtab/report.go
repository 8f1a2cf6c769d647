package main

import (
	"bytes"
	"fmt"
	"io"
	"sync"

	"github.com/spf13/cobra"

	"injtab/export"
	"injtab/tables"
	"injtab/tables/engine"
)

const reportAbout = `Puts everything on one page that needs nothing else: the judgement on each injector, the
matched set if one is asked for, flow, dead time, short pulses and residuals, all tables,
their proof, and with an engine its size and duty headroom. Most inputs of the engine are
flags too; its cylinders and fuel are those of the tables.`

const reportExample = `  injtab demo
  injtab report injtab-demo/bench.csv -o report.html --plots pictures
  injtab report injtab-demo/bench.csv -o launch.html --of 6 --firing-order 1-5-3-6-2-4 --fuel gasoline --power 185kW --rpm 5200
`

// A reportChoice is what the flags of report say.
type reportChoice struct {
	tables tableChoice
	engine engineChoice
	out    string
	plots  plotChoice
}

func (a *app) reportVerb() *cobra.Command {
	var r reportChoice
	c := a.verb("report BENCH -o FILE.html", "Write one page with all of it", reportAbout, reportExample, files("BENCH"))
	f := c.Flags()
	f.StringVarP(&r.out, "output", "o", "", "page `FILE.html` to write")
	r.plots.register(f, "plots")
	f.Lookup("force").Usage = "replace a page or a folder of pictures that exists"
	r.tables.register(f)
	fitFlags(f, &r.tables.fit)
	f.BoolVar(&a.json, "json", false, "one JSON document of all of it on standard output, for programs; -o may be left out")
	f.BoolVar(&a.markdown, "markdown", false, "Markdown on standard output; -o may be left out")
	r.engine.register(f, append([]string{"cylinders", "fuel", "injectors"}, engine.InjectorFlags()...)...)
	c.RunE = func(_ *cobra.Command, args []string) error { return a.report(args[0], r) }
	return c
}

func (a *app) report(path string, r reportChoice) error {
	if r.out == "" && r.plots.dir == "" && !a.json && !a.markdown {
		return usage("name the page to write: -o FILE.html")
	}
	if err := r.tables.complete(a); err != nil {
		return err
	}
	if r.out != "" {
		if err := a.outputBeside(r.out, r.plots.force, path, r.engine.file).CheckFile(); err != nil {
			return err
		}
	}
	if err := a.checkPlots(r.plots, path, r.engine.file); err != nil {
		return err
	}
	s, err := a.readSession(path)
	if err != nil {
		return err
	}
	j, err := a.do(s, &r.tables, r.engine.with(r.tables))
	if err != nil {
		return err
	}
	a.tell(j)
	whole := sync.OnceValue(j.report)
	if r.plots.dir != "" {
		if err := a.writePlots(r.plots, whole()); err != nil {
			return err
		}
	}
	if r.out != "" {
		if err := a.writePage(r, whole()); err != nil {
			return err
		}
	}
	switch {
	case a.json:
		j.Tables = j.Tables.WithTables()
		return export.JSONFrom(a.out, j, a.inputs)
	case a.markdown:
		return export.Markdown(a.out, whole())
	}
	var done string
	if r.plots.dir != "" {
		done = "Charts written to " + export.Line(r.plots.dir) + ".\n"
	}
	if r.out != "" {
		done += "One page written to " + export.Line(r.out) + ".\n"
	}
	_, err = io.WriteString(a.out, done)
	return err
}

func (a *app) writePage(r reportChoice, whole tables.Report) error {
	page, err := pageOf(whole)
	if err != nil {
		return err
	}
	return a.writeFile(a.output(r.out, r.plots.force), page)
}

// pageOf makes the page before its file is touched.
func pageOf(r tables.Report) ([]byte, error) {
	var buf bytes.Buffer
	err := export.Page(&buf, r)
	return buf.Bytes(), err
}

// with gives the engine the cylinders and the fuel of the tables, where anything
// else is said of an engine.
func (e engineChoice) with(t tableChoice) engineChoice {
	if !e.any() {
		return e
	}
	if field, ok := engine.FieldOf("fuel"); ok && t.fuel != "" {
		e.given = append(e.given, engineInput{field, t.fuel})
	}
	if n := t.match.size(); n > 0 {
		if field, ok := engine.FieldOf("cylinders"); ok {
			e.given = append(e.given, engineInput{field, fmt.Sprint(n)})
		}
	}
	return e
}

// size is how many injectors make a set; 0 where that is not said.
func (m matchChoice) size() int {
	return max(m.options.Of, len(m.options.Cylinders), len(m.options.FiringOrder))
}

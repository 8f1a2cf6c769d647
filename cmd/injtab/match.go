package main

import (
	"bytes"
	"context"
	"os"
	"os/signal"
	"strings"

	"github.com/spf13/cobra"

	"injtab/export"
	"injtab/fit/bench"
	"injtab/tables"
	"injtab/tables/match"
)

const matchAbout = `Chooses the injectors that agree best at every point where all candidates were measured,
with proof or a proven bound, and seats them so that banks and cylinders that fire one
after the other agree. Readings are compared as measured; nothing is fitted. The spread is
(largest / smallest - 1) of the delivered fuel, the worst over the points.`

const matchExample = `  injtab demo
  injtab match injtab-demo/bench.csv --of 6 --firing-order 1-5-3-6-2-4
  injtab match injtab-demo/bench.csv --of 3 --sets 2
  injtab match injtab-demo/bench.csv --of 2 --sets max --within 3%
  injtab match injtab-demo/bench.csv --of 6 --csv --print match_points
  injtab match injtab-demo/bench.csv --of 6 -o matched.xlsx
`

// A matchOutput is what the flags of match say of its form.
type matchOutput struct {
	print string
	book  string
	force bool
}

func (a *app) matchVerb() *cobra.Command {
	var m matchChoice
	var o matchOutput
	c := a.verb("match BENCH", "Choose matched sets of injectors and seat them", matchAbout, matchExample, files("BENCH"))
	f := c.Flags()
	m.register(f)
	f.StringVar(&o.print, "print", "", "show this `TABLE` alone, such as match_points")
	f.StringVarP(&o.book, "output", "o", "", "also write a workbook `FILE.xlsx`, a sheet a table")
	f.BoolVar(&o.force, "force", false, "replace a workbook that exists")
	a.longForms(f, "the table of --print, else one row a seat; without cylinders one row a set")
	c.RunE = func(_ *cobra.Command, args []string) error { return a.match(args[0], m, o) }
	return c
}

func (a *app) match(path string, m matchChoice, o matchOutput) error {
	if err := m.complete(); err != nil {
		return err
	}
	if o.book != "" && !strings.HasSuffix(strings.ToLower(o.book), ".xlsx") {
		return usage("-o %s: a workbook's name ends in .xlsx", o.book)
	}
	if o.book != "" {
		if err := a.outputBeside(o.book, o.force, path).CheckFile(); err != nil {
			return err
		}
	}
	s, err := a.readSession(path)
	if err != nil {
		return err
	}
	a.warn(s.notes...)
	r, err := choose(s.checked, m.options)
	if err != nil {
		return err
	}
	shown, err := o.shown(r)
	if err != nil {
		return err
	}
	if err := a.writeBook(o, r.Report()); err != nil {
		return err
	}
	a.remark(r.Notes()...)
	return a.show(shown)
}

// shown is the whole result, or the one table of it that was asked for.
func (o matchOutput) shown(r match.Result) (result, error) {
	report := r.Report()
	if o.print == "" {
		return result{json: r, report: report, table: tableOf(report, "match_seats", "match_sets")}, nil
	}
	t := tableOf(report, o.print)
	if t == nil {
		var names []string
		for _, t := range report.Sections[0].Tables {
			names = append(names, t.Name)
		}
		return result{}, usage("--print: there is no table %q%s: there is %s", o.print, meant(o.print, names, ""), strings.Join(names, ", "))
	}
	return result{json: tables.NewTableResult(*t), report: tables.TableReport(*t), table: t}, nil
}

// writeBook writes the workbook, if one is asked for.
func (a *app) writeBook(o matchOutput, r tables.Report) error {
	if o.book == "" {
		return nil
	}
	var buf bytes.Buffer
	if err := export.Workbook(&buf, r, nil); err != nil {
		return err
	}
	return a.writeFile(a.output(o.book, o.force), buf.Bytes())
}

// choose chooses sets; an interrupt stops the search with what is proven by then.
func choose(c bench.Checked, o match.Options) (match.Result, error) {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	r, err := match.Choose(ctx, c, o)
	if err != nil {
		return r, usageError{err}
	}
	return r, nil
}

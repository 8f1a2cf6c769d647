package main

import (
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"injtab/fit"
	"injtab/tables"
)

const fitAbout = `Fits flow, dead time and short-pulse behaviour of all injectors at once and gives each
figure with its 95 % interval. Readings that do not fit are listed, with the value that
would have fitted, and get no weight. Without --assume nothing is said of a pressure or
voltage that the session tells nothing of.`

const fitExample = `  injtab demo
  injtab fit injtab-demo/bench.csv
  injtab fit injtab-demo/bench.csv --csv         one row an injector
  injtab fit injtab-demo/bench.csv --residuals --csv
  injtab fit injtab-demo/bench.csv --plot fit-plots
`

func (a *app) fitVerb() *cobra.Command {
	var o fit.Options
	var residuals bool
	var plots plotChoice
	c := a.verb("fit BENCH", "Fit flow, dead time and short-pulse behaviour of each injector", fitAbout, fitExample, files("BENCH"))
	fitFlags(c.Flags(), &o)
	c.Flags().BoolVar(&residuals, "residuals", false, "every reading against the model")
	plots.register(c.Flags(), "plot")
	a.longForms(c.Flags(), "one row an injector, or one a reading with --residuals")
	c.RunE = func(_ *cobra.Command, args []string) error {
		if err := a.checkPlots(plots, args[0]); err != nil {
			return err
		}
		s, m, err := a.fitSession(args[0], o)
		if err != nil {
			return err
		}
		a.remark(s.notes...)
		a.remark(m.Notes...)
		r := tables.NewFit(m, s.notes)
		table, report := r.Table(), r.Report()
		if err := a.writePlots(plots, report); err != nil {
			return err
		}
		if residuals {
			table = tables.Residuals(m)
			report.Sections = []tables.Section{{Name: table.Name, Heading: table.Title, Tables: []tables.Table{table}}}
			return a.show(result{json: tables.NewTableResult(table), report: report, table: &table})
		}
		return a.show(result{json: r, report: report, table: &table})
	}
	return c
}

// fitFlags adds what every verb that fits takes.
func fitFlags(f *pflag.FlagSet, o *fit.Options) {
	f.BoolVar(&o.Assume, "assume", false, "let a pressure or voltage dependence that was not measured follow a generic curve, marked assumed")
}

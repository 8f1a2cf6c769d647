package main

import (
	"github.com/spf13/cobra"

	"injtab/tables/engine"
)

const sizeAbout = `Finds the static flow that each injector needs, quoted at the rated pressure in the engine's
fuel at 15 °C, and the pump that feeds them. Fuel comes from power and specific consumption,
or from the air that the engine breathes; with both, they are compared. What is not given
is filled in from a list of defaults that is printed with its sources.`

const sizeExample = `  injtab size --power 185kW --cylinders 6 --rpm 5200
  injtab size --power 300hp --cylinders 4 --rpm 7000 --boost 1.2bar --fuel E85 --pressure 3bar
`

func (a *app) sizeVerb() *cobra.Command {
	var e engineChoice
	c := a.verb("size", "Find the injector and the pump that an engine needs", sizeAbout, sizeExample, files())
	a.longForms(c.Flags(), "the injector over consumption, or volumetric efficiency, and duty")
	var plots plotChoice
	plots.register(c.Flags(), "plot")
	e.register(c.Flags())
	c.RunE = func(*cobra.Command, []string) error {
		if err := a.checkPlots(plots, e.file); err != nil {
			return err
		}
		in, err := a.engineInputs(e)
		if err != nil {
			return err
		}
		r, err := engine.Size(in)
		if err != nil {
			return e.wrong(err)
		}
		a.remark(r.Notes()...)
		report := r.Report()
		if err := a.writePlots(plots, report); err != nil {
			return err
		}
		return a.show(result{json: r, report: report, table: tableOf(report, "size_by_duty")})
	}
	return c
}

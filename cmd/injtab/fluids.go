package main

import (
	"github.com/spf13/cobra"

	"injtab/tables"
)

const fluidsAbout = `Lists the fluids and fuels that a bench file, --fuel and an engine file may name, with
their properties and where each figure comes from. Any blend of gasoline with ethanol or
methanol can be named too: E60 is 60 % ethanol by volume, M50 is 50 % methanol.`

const fluidsExample = `  injtab fluids
  injtab fluids --csv
`

func (a *app) fluidsVerb() *cobra.Command {
	c := a.verb("fluids", "List the built-in fluids and fuels with their sources", fluidsAbout, fluidsExample, files())
	a.forms(c.Flags(), "one row a fluid")
	c.RunE = func(*cobra.Command, []string) error {
		r := tables.NewFluids()
		table := r.Table()
		return a.show(result{json: r, report: r.Report(), table: &table})
	}
	return c
}

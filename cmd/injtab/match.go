package main

import (
	"context"
	"os"
	"os/signal"

	"github.com/spf13/cobra"

	"injtab/fit/bench"
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
`

func (a *app) matchVerb() *cobra.Command {
	var m matchChoice
	c := a.verb("match BENCH", "Choose matched sets of injectors and seat them", matchAbout, matchExample, files("BENCH"))
	m.register(c.Flags())
	a.forms(c.Flags(), "one row a seat; without cylinders one row a set")
	c.RunE = func(_ *cobra.Command, args []string) error {
		if err := m.complete(); err != nil {
			return err
		}
		s, err := a.readSession(args[0])
		if err != nil {
			return err
		}
		a.warn(s.notes...)
		r, err := choose(s.checked, m.options)
		if err != nil {
			return err
		}
		a.remark(r.Notes()...)
		report := r.Report()
		return a.show(result{json: r, report: report, table: tableOf(report, "match_seats", "match_sets")})
	}
	return c
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

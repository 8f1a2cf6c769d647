package main

import (
	"github.com/spf13/cobra"

	"injtab/fit"
	"injtab/tables"
)

const compareAbout = `Says what became of each injector between two sessions, for example before and after
cleaning: which changes of flow, dead time and leak are beyond the noise of the readings.
What all injectors changed by together is told apart, because a gauge that moved would
look the same. An injector is known by what is written on it.`

const compareExample = `  injtab demo
  injtab compare injtab-demo/bench.csv injtab-demo/bench.csv    the same file: nothing changed
`

func (a *app) compareVerb() *cobra.Command {
	var o fit.Options
	c := a.verb("compare BEFORE AFTER", "Say what changed between two sessions", compareAbout, compareExample, files("BEFORE", "AFTER"))
	fitFlags(c.Flags(), &o)
	a.forms(c.Flags(), "one row an injector")
	c.RunE = func(_ *cobra.Command, args []string) error { return a.compare(args[0], args[1], o) }
	return c
}

func (a *app) compare(before, after string, o fit.Options) error {
	if before == "-" && after == "-" {
		return usage("only one of the two files can be standard input")
	}
	s, was, err := a.fitSession(before, o)
	if err != nil {
		return err
	}
	t, is, err := a.fitSession(after, o)
	if err != nil {
		return err
	}
	c, err := fit.Compare(was, is)
	if err != nil {
		return err
	}
	notes := append(append(s.notes, was.Notes...), append(t.notes, is.Notes...)...)
	a.warn(notes...)
	r := tables.NewCompare(c, was, is, notes)
	table := r.Table()
	return a.show(result{json: r, report: r.Report(), table: &table})
}

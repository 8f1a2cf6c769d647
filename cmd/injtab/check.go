package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"injtab/fit/bench"
	"injtab/tables"
)

const checkAbout = `Says of each injector whether it is sound, dead, leaking, erratic or an outlier of its
family, lists the readings that look wrong with the value that would fit, and compares
the injectors before anything is fitted. BENCH is CSV or XLSX; - is standard input.`

const checkExample = `  injtab demo
  injtab check injtab-demo/bench.csv
  injtab check injtab-demo/bench.csv --csv       the deviations, for a spreadsheet
`

func (a *app) checkVerb() *cobra.Command {
	var watched []string
	c := a.verb("check BENCH", "Read a bench file and judge each reading and each injector", checkAbout, checkExample, files("BENCH"))
	c.Flags().Var(&names{to: &watched}, "fail-on", "exit 1 if any of these is found: "+strings.Join(watchable(), ", "))
	a.longForms(c.Flags(), "each injector's deviation from the mean, by point")
	c.RunE = func(_ *cobra.Command, args []string) error { return a.check(args[0], watched) }
	return c
}

func watchable() (words []string) {
	for v := bench.Outlier; v <= bench.Dead; v++ {
		words = append(words, v.String())
	}
	return append(words, tables.Watchable...)
}

func (a *app) check(path string, watched []string) error {
	for _, w := range watched {
		if !slices.Contains(watchable(), w) {
			return usage("--fail-on: %q can't be watched%s: use %s", w, meant(w, watchable(), ""), strings.Join(watchable(), ", "))
		}
	}
	s, err := a.readSession(path)
	if err != nil {
		if a.json {
			a.show(result{json: tables.UnreadCheck(fileName(path), notesOf(err))})
		}
		return err
	}
	r := tables.NewCheck(s.checked, s.notes)
	out := result{json: r, report: r.Report()}
	if a.csv { // of an archive it takes longer than the rest that is shown
		table := r.Table()
		out.table = &table
	}
	a.remark(s.notes...)
	if err := a.show(out); err != nil {
		return err
	}
	if found := r.Broken(watched); len(found) > 0 {
		return brokenLimit{fmt.Errorf("--fail-on: %s", strings.Join(found, "; "))}
	}
	return nil
}

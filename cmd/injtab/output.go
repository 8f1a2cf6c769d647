package main

import (
	"io"
	"os"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"golang.org/x/term"

	"injtab/export"
	"injtab/fit/diag"
	"injtab/tables"
)

// An app is one run of the program: where it reads and writes, and in what form.
type app struct {
	in       io.Reader
	out, err io.Writer

	read, written []string       // paths of inputs and outputs
	inputs        []export.Input // what was read

	json, markdown, csv, ascii bool
	full                       bool
	warned                     map[string]bool // told already
}

// A result is what a verb found, in every form that it can be shown in.
type result struct {
	json   any
	report tables.Report
	table  *tables.Table // for --csv; nil: the verb has none
}

// verb makes a command; use is its usage line, about its help.
func (a *app) verb(use, short, about, example string, args cobra.PositionalArgs) *cobra.Command {
	c := &cobra.Command{Use: use + " [flags]", Short: short, Long: about, Example: example, Args: args, DisableFlagsInUseLine: true}
	c.Flags().SortFlags = false
	c.PreRunE = func(*cobra.Command, []string) error { return a.oneForm() }
	return c
}

// forms adds the flags that choose how a result is shown.
func (a *app) forms(f *pflag.FlagSet, csv string) {
	f.BoolVar(&a.json, "json", false, "one JSON document on standard output, for programs")
	f.BoolVar(&a.markdown, "markdown", false, "Markdown instead of plain text")
	if csv != "" {
		f.BoolVar(&a.csv, "csv", false, "CSV: "+csv)
	}
	f.BoolVar(&a.ascii, "ascii", false, "plain text without characters beyond ASCII")
}

// longForms are forms of a verb that has more to show than fits a screen.
func (a *app) longForms(f *pflag.FlagSet, csv string) {
	f.BoolVar(&a.full, "full", false, "every table and chart on the screen, not the main ones alone")
	a.forms(f, csv)
}

// oneForm refuses several forms at once, before any work is done.
func (a *app) oneForm() error {
	if a.json && (a.markdown || a.csv) || a.markdown && a.csv {
		return usage("--json, --markdown and --csv exclude each other: give one of them")
	}
	return nil
}

// show writes a result to standard output.
func (a *app) show(r result) error {
	switch {
	case a.json:
		return export.JSONFrom(a.out, r.json, a.inputs)
	case a.csv && r.table == nil:
		return usage("this result has no table for --csv")
	case a.csv:
		return export.CSV(a.out, *r.table)
	case a.markdown:
		return export.Markdown(a.out, r.report)
	}
	return export.Text(a.out, r.report, a.terminal())
}

// tableOf is the first table of a report that has one of these names, the first
// name first.
func tableOf(r tables.Report, names ...string) *tables.Table {
	for _, name := range names {
		for _, s := range r.Sections {
			for i := range s.Tables {
				if s.Tables[i].Name == name {
					return &s.Tables[i]
				}
			}
		}
	}
	return nil
}

// remark tells warnings that the report shows too: beside the result, unless both
// would stand on one screen.
func (a *app) remark(notes ...diag.Note) {
	if _, screen := a.screen(); screen && !a.json && !a.csv && !a.markdown {
		return
	}
	a.warn(notes...)
}

// screen is standard output where it is a terminal.
func (a *app) screen() (*os.File, bool) {
	f, ok := a.out.(*os.File)
	return f, ok && term.IsTerminal(int(f.Fd()))
}

// terminal says what the text is written for.
func (a *app) terminal() export.TextOptions {
	o := export.TextOptions{Width: 100, ASCII: a.ascii}
	if !a.full {
		o.Rest = "--full"
	}
	f, ok := a.screen()
	if !ok {
		return o
	}
	if width, _, err := term.GetSize(int(f.Fd())); err == nil {
		o.Width = min(width, 120)
	}
	o.Color = os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
	return o
}

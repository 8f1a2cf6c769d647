package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"github.com/spf13/cobra"

	"injtab/export"
	"injtab/fit/diag"
)

// Exit codes.
const (
	done       = 0
	broken     = 1 // a limit that the user asked to watch
	wrongUsage = 2
	badInput   = 3
)

// run is the whole program: it does what args say and gives the exit code.
func run(args []string, in io.Reader, out, err io.Writer) int {
	a := &app{in: in, out: out, err: err}
	root := a.root()
	root.SetArgs(args)
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(err)
	askForShell(root)
	return a.finish(root.Execute())
}

// A usageError is a command that can't be meant.
type usageError struct{ error }

func usage(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// A brokenLimit says which limit was watched and is broken; the result has been
// shown.
type brokenLimit struct{ error }

// finish tells what went wrong and turns it into the exit code.
func (a *app) finish(err error) int {
	if err == nil {
		return done
	}
	var limit brokenLimit
	var wrong usageError
	code := badInput
	switch {
	case errors.As(err, &limit):
		code = broken
	case errors.As(err, &wrong):
		code = wrongUsage
	}
	for _, e := range parts(err) {
		a.message("error: %v", placed(e))
	}
	if code != broken {
		a.tellWritten()
	}
	return code
}

// message tells one thing beside the result; what came from files or flags in it is
// made harmless.
func (a *app) message(format string, args ...any) {
	fmt.Fprintf(a.err, "injtab: %s\n", export.Line(fmt.Sprintf(format, args...)))
}

// placed says of an error that only the system told that it was standard output's.
func placed(err error) error {
	var at *fs.PathError
	if errors.As(err, &at) && at.Path == os.Stdout.Name() {
		return fmt.Errorf("standard output can't be written: %w", at.Err)
	}
	return err
}

// parts takes joined errors apart.
func parts(err error) []error {
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		var out []error
		for _, e := range joined.Unwrap() {
			out = append(out, parts(e)...)
		}
		return out
	}
	return []error{err}
}

// notesOf are the notes among joined errors; others become notes without a place.
func notesOf(err error) (notes []diag.Note) {
	for _, e := range parts(err) {
		var n diag.Note
		if !errors.As(e, &n) {
			n = diag.Fail(diag.Place{}, "unreadable", "%v", e)
		}
		notes = append(notes, n)
	}
	return notes
}

// warn tells warnings that the result does not show, each once.
func (a *app) warn(notes ...diag.Note) {
	for _, n := range notes {
		text := n.Error()
		if a.warned[text] {
			continue
		}
		if a.warned == nil {
			a.warned = map[string]bool{}
		}
		a.warned[text] = true
		a.message("warning: %s", text)
	}
}

// root is the command above the verbs.
func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:           "injtab",
		Short:         "From flow-bench readings of fuel injectors to matched sets and ECU tables",
		Version:       export.Version,
		SilenceErrors: true, SilenceUsage: true,
		Args: unknownVerb,
		RunE: func(c *cobra.Command, _ []string) error {
			var help bytes.Buffer
			c.SetOut(&help)
			c.Help()
			a.err.Write(help.Bytes())
			return usage("name a verb; `injtab demo` shows the whole job")
		},
	}
	root.SetFlagErrorFunc(flagError)
	root.SetUsageTemplate(usageTemplate)
	root.SetHelpTemplate(helpTemplate)
	root.SetVersionTemplate("injtab {{.Version}}\n")
	cobra.EnableCommandSorting = false
	root.AddCommand(a.demoVerb(), a.planVerb(), a.checkVerb(), a.fitVerb(), a.matchVerb(), a.tablesVerb(), a.verifyVerb(), a.compareVerb(),
		a.sizeVerb(), a.headroomVerb(), a.reportVerb(), a.fluidsVerb(), a.referenceVerb())
	addCompletion(root)
	return root
}

const helpTemplate = `{{.Short}}.{{with .Long}}

{{. | trimTrailingWhitespaces}}{{end}}

{{.UsageString}}`

const usageTemplate = `Usage: {{if .Runnable}}{{if .HasSubCommands}}injtab VERB [FILE] [flags]{{else}}{{.UseLine}}{{end}}{{end}}{{if .HasAvailableSubCommands}}

Verbs:{{range .Commands}}{{if .IsAvailableCommand}}
  {{rpad .Name .NamePadding}}  {{.Short}}{{end}}{{end}}{{end}}{{if .HasAvailableLocalFlags}}

Flags:
{{.LocalFlags.FlagUsagesWrapped 100 | trimTrailingWhitespaces}}{{end}}{{if .HasExample}}

Example:
{{.Example}}{{end}}{{if .HasAvailableSubCommands}}

injtab VERB --help tells more, with an example to run. It exits 0 when done, 1 when a
limit that it was asked to watch is broken, 2 on wrong usage, 3 when the input can't be
read or is invalid.{{end}}
`

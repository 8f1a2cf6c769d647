package main

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"injtab/export"
)

// referenceVerb writes the reference of all verbs, from the verbs themselves: for the
// repository and for those who package the program.
func (a *app) referenceVerb() *cobra.Command {
	var out string
	var force bool
	c := &cobra.Command{Use: "reference -o DIR", Short: "Write the reference of all verbs as Markdown and manual pages", Hidden: true, Args: files(),
		Example: "  injtab reference -o reference\n"}
	c.Flags().StringVarP(&out, "output", "o", "", "folder `DIR` to write")
	c.Flags().BoolVar(&force, "force", false, "replace a folder that exists")
	c.RunE = func(c *cobra.Command, _ []string) error {
		if out == "" {
			return usage("name the folder to write: -o DIR")
		}
		pages := referencePages(c.Root())
		last, err := export.NewManifest("Reference", "The verbs of injtab.", nil, nil, pages).JSON()
		if err != nil {
			return err
		}
		return a.writeFolder(a.output(out, force), append(pages, last))
	}
	return c
}

// referencePages are a Markdown page of all verbs and a manual page for each.
func referencePages(root *cobra.Command) (files []export.NamedFile) {
	var all bytes.Buffer
	fmt.Fprintf(&all, "# Reference\n\n%s.\n", root.Short)
	for _, verb := range root.Commands() {
		if !documented(verb) {
			continue
		}
		fmt.Fprintf(&all, "\n## injtab %s\n\n%s.\n\n%s\n\n```text\ninjtab %s\n```\n\n", verb.Name(), verb.Short, strings.TrimSpace(verb.Long), verb.Use)
		all.WriteString("| flag | what it says |\n|---|---|\n")
		eachFlag(verb, func(name, what string) {
			fmt.Fprintf(&all, "| `%s` | %s |\n", name, strings.ReplaceAll(what, "|", `\|`))
		})
		fmt.Fprintf(&all, "\n```sh\n%s\n```\n", strings.TrimRight(dedent(verb.Example), "\n"))
		files = append(files, export.NamedFile{Name: "injtab-" + verb.Name() + ".1", Data: manualPage(verb)})
	}
	return append([]export.NamedFile{{Name: "reference.md", Data: all.Bytes()}}, files...)
}

func documented(c *cobra.Command) bool {
	return !c.Hidden && c.Name() != "help" && c.Name() != "completion"
}

func dedent(text string) string {
	return strings.ReplaceAll("\n"+text, "\n  ", "\n")[1:]
}

// eachFlag gives every flag with its value's name, and what it says.
func eachFlag(c *cobra.Command, show func(name, what string)) {
	c.InitDefaultHelpFlag()
	c.LocalFlags().VisitAll(func(f *pflag.Flag) {
		value, what := pflag.UnquoteUsage(f)
		name := "--" + f.Name
		if f.Shorthand != "" {
			name = "-" + f.Shorthand + ", " + name
		}
		if value != "" {
			name += " " + value
		}
		show(name, what)
	})
}

// manualPage is a verb in the macros of man(7).
func manualPage(c *cobra.Command) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, ".TH \"INJTAB-%s\" 1 \"\" \"injtab %s\" \"injtab\"\n", strings.ToUpper(c.Name()), export.Version)
	fmt.Fprintf(&b, ".SH NAME\ninjtab\\-%s \\- %s\n.SH SYNOPSIS\n.B injtab %s\n.SH DESCRIPTION\n", c.Name(), roff(c.Short), roff(c.Use))
	for _, paragraph := range strings.Split(strings.TrimSpace(c.Long), "\n\n") {
		if strings.HasPrefix(paragraph, "  ") || strings.Contains(paragraph, "\n  ") {
			fmt.Fprintf(&b, ".nf\n%s\n.fi\n.PP\n", roff(paragraph))
			continue
		}
		fmt.Fprintf(&b, "%s\n.PP\n", roff(paragraph))
	}
	b.WriteString(".SH OPTIONS\n")
	eachFlag(c, func(name, what string) { fmt.Fprintf(&b, ".TP\n.B %s\n%s\n", roff(name), roff(what)) })
	fmt.Fprintf(&b, ".SH EXAMPLE\n.nf\n%s\n.fi\n", roff(strings.TrimRight(dedent(c.Example), "\n")))
	b.WriteString(".SH EXIT STATUS\n0 done; 1 a limit that was watched is broken; 2 wrong usage; 3 the input can't be read or is invalid.\n")
	return b.Bytes()
}

// roff protects what the macros would read as their own.
func roff(text string) string {
	text = strings.ReplaceAll(text, `\`, `\\`)
	text = strings.ReplaceAll(text, "-", `\-`)
	lines := strings.Split(text, "\n")
	for i, l := range lines {
		if strings.HasPrefix(l, ".") || strings.HasPrefix(l, "'") {
			lines[i] = `\&` + l
		}
	}
	return strings.Join(lines, "\n")
}

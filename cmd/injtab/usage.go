package main

import (
	"cmp"
	"errors"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// unknownVerb refuses what is no verb and names the nearest.
func unknownVerb(c *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	var names []string
	for _, verb := range c.Commands() {
		names = append(names, verb.Name())
	}
	return usage("%q is not a verb%s; `injtab help` lists them", args[0], meant(args[0], names, ""))
}

// flagError turns the flag library's errors into sentences.
func flagError(c *cobra.Command, err error) error {
	if errors.Is(err, pflag.ErrHelp) {
		return err
	}
	var unknown *pflag.NotExistError
	var empty *pflag.ValueRequiredError
	var invalid *pflag.InvalidValueError
	switch {
	case errors.As(err, &unknown) && unknown.GetSpecifiedShortnames() != "":
		return usage("-%s is not a flag of %s; `%s --help` lists them", unknown.GetSpecifiedShortnames(), c.Name(), c.CommandPath())
	case errors.As(err, &unknown):
		name := unknown.GetSpecifiedName()
		return usage("--%s is not a flag of %s%s; `%s --help` lists them", name, c.Name(), meant(name, flagNames(c), "--"), c.CommandPath())
	case errors.As(err, &empty):
		return usage("--%s needs a value; `%s --help` shows how it is written", empty.GetFlag().Name, c.CommandPath())
	case errors.As(err, &invalid):
		return usage("--%s: %w", invalid.GetFlag().Name, plainCause(invalid))
	}
	return usage("%v; `%s --help` lists the flags", err, c.CommandPath())
}

// plainCause puts a sentence in place of what only a programmer would read.
func plainCause(e *pflag.InvalidValueError) error {
	switch e.GetFlag().Value.Type() {
	case "int":
		return usage("%q is not a whole number", e.GetValue())
	case "duration":
		return usage("%q is no time: write a number and its unit (ms, s, m), such as 5s", e.GetValue())
	case "bool":
		return usage("%q is neither true nor false; the flag needs no value", e.GetValue())
	}
	return e.Unwrap()
}

func flagNames(c *cobra.Command) (names []string) {
	c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	return names
}

// meant suggests the nearest of the known names, if one is near.
func meant(text string, known []string, prefix string) string {
	near := func(name string) int { return distance(strings.ToLower(text), name) }
	slices.Sort(known)
	best := slices.MinFunc(known, func(a, b string) int { return cmp.Compare(near(a), near(b)) })
	if near(best) > max(2, len(best)/3) {
		return ""
	}
	return " (did you mean " + prefix + best + "?)"
}

// distance is the number of letters to insert, drop or change between two words
// (Levenshtein's, by the textbook row of partial distances).
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		before := row[0]
		row[0] = i + 1
		for j := range len(b) {
			step := before
			if a[i] != b[j] {
				step++
			}
			before = row[j+1]
			row[j+1] = min(step, before+1, row[j]+1)
		}
	}
	return row[len(b)]
}

// files demands so many file arguments, named as in the usage line.
func files(names ...string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		switch {
		case len(args) < len(names):
			return usage("%s needs %s; `%s --help` shows an example", c.Name(), strings.Join(names[len(args):], " and "), c.CommandPath())
		case len(args) > len(names):
			return usage("%s takes %s, so %q is too much", c.Name(), cmp.Or(strings.Join(names, " and "), "no file"), args[len(names)])
		}
		return nil
	}
}

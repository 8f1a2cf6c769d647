package main

import (
	"strings"

	"github.com/spf13/cobra"

	"injtab/fit/bench"
	"injtab/fit/fluid"
	"injtab/tables"
)

// addCompletion lets a shell complete files and the values that flags may take.
func addCompletion(root *cobra.Command) {
	root.CompletionOptions.DisableDefaultCmd = false
	values := map[string]func() []string{
		"fuel": fuelNames, "target-fuel": fuelNames, "bsfc-fuel": fuelNames, "flow-fluid": fluidNames, "fluid": fluidNames,
		"print": tableKinds, "fail-on": verdicts,
		"regulator": fixed("manifold", "fixed"), "power-at": fixed("crank", "wheels"), "purpose": fixed("match", "map", "both"),
		"unit": fixed("ms", "us", "ml/min", "cc/min", "g/min", "lb/h"), "pressure-unit": fixed("kPa", "bar", "psi"),
		"hold-out": fixed("every 5th", "each condition"), "sets": fixed("1", "2", "max"),
	}
	for _, verb := range root.Commands() {
		if verb.ValidArgsFunction == nil && strings.Contains(verb.Use, "BENCH") {
			verb.ValidArgsFunction = benchFiles
		}
		for name, list := range values {
			if verb.Flags().Lookup(name) == nil {
				continue
			}
			if name == "print" && verb.Name() == "match" {
				list = fixed("match_sets", "match_points", "match_seats", "match_spares", "match_replacements", "match_left_out")
			}
			// It fails only for a flag that is not there, or is there twice.
			_ = verb.RegisterFlagCompletionFunc(name, func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
				return list(), cobra.ShellCompDirectiveNoFileComp
			})
		}
	}
}

// askForShell makes "injtab completion" without a shell that it knows a wrong usage;
// the scripts go to the output that the root has by then.
func askForShell(root *cobra.Command) {
	root.InitDefaultCompletionCmd()
	c, _, err := root.Find([]string{"completion"})
	if err != nil {
		return
	}
	c.Args = cobra.ArbitraryArgs
	c.RunE = func(*cobra.Command, []string) error {
		return usage("name the shell: injtab completion bash, zsh, fish or powershell")
	}
}

// benchFiles completes with the files that a bench session may be in, and folders
// for verify.
func benchFiles(c *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if c.Name() == "verify" && len(args) == 0 {
		return nil, cobra.ShellCompDirectiveFilterDirs
	}
	return []string{"csv", "xlsx"}, cobra.ShellCompDirectiveFilterFileExt
}

func fixed(values ...string) func() []string { return func() []string { return values } }

func fluidNames() (names []string) {
	for _, f := range fluid.All() {
		names = append(names, f.Name)
	}
	return names
}

func fuelNames() (names []string) {
	for _, f := range fluid.All() {
		if f.Fuel() {
			names = append(names, f.Name)
		}
	}
	return names
}

func verdicts() (names []string) {
	for v := bench.Outlier; v <= bench.Dead; v++ {
		names = append(names, v.String())
	}
	return names
}

func tableKinds() []string { return tables.Kinds() }

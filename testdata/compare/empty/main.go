// Command empty does nothing, with the library that injtab reads its command line
// with: what a program costs before it does anything.
package main

import (
	"os"

	"github.com/spf13/cobra"
)

func main() {
	root := &cobra.Command{Use: "empty", Run: func(*cobra.Command, []string) {}}
	if root.Execute() != nil {
		os.Exit(1)
	}
}

// Gen writes the bench file of the demonstration.
package main

import (
	"fmt"
	"os"

	"injtab/fit/sim"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: gen FILE")
		os.Exit(2)
	}
	if err := os.WriteFile(os.Args[1], sim.Demo().CSV, 0o644); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

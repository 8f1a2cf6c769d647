// Command injtab turns flow-bench readings of fuel injectors into the tables that
// an engine control unit holds.
//
// It is used as `injtab VERB [FILE] [flags]`; `injtab help` lists the verbs, and
// each verb's --help shows an example that can be run on the files of
// `injtab demo`. It exits 0 when done, 1 when a limit that it was asked to watch
// is broken, 2 on wrong usage, 3 when its input can't be read or is invalid.
package main

import (
	"os"
	"runtime/debug"
)

func main() {
	debug.SetGCPercent(seldom)
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// Command chain tells what the program is built of, and packs releases.
//
//	go run ./.ci/chain licences            the list of modules with their licences
//	go run ./.ci/chain notices             the texts of those licences
//	go run ./.ci/chain sbom BINARY         what a binary was built from, as CycloneDX JSON
//	go run ./.ci/chain archive FOLDER FILE packs a folder as .tar.gz or .zip
//
// The same input gives the same bytes. Run it at the top of the repository.
package main

import (
	"fmt"
	"os"
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "chain:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	switch {
	case len(args) == 1 && args[0] == "licences":
		return writeLicences(os.Stdout)
	case len(args) == 1 && args[0] == "notices":
		return writeNotices(os.Stdout)
	case len(args) == 2 && args[0] == "sbom":
		return writeSBOM(os.Stdout, args[1])
	case len(args) == 3 && args[0] == "archive":
		return archive(args[1], args[2])
	}
	return fmt.Errorf("%q is not understood: write licences, notices, sbom BINARY or archive FOLDER FILE", args)
}

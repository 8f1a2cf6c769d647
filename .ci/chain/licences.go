package main

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

// writeLicences lists the modules, a line each: path, version, licences.
func writeLicences(w io.Writer) error {
	list, err := modules()
	if err != nil {
		return err
	}
	fmt.Fprint(w, "# What the program is built of, and under which licences\n\nWritten by `go run ./.ci/chain licences`.\n\n| module | version | licence |\n|---|---|---|\n")
	fmt.Fprintln(w, "| standard library of Go | as built | BSD-3-Clause |")
	for _, m := range list {
		fmt.Fprintf(w, "| %s | %s | %s |\n", m.Path, m.Version, strings.Join(m.licences, ", "))
	}
	return nil
}

const noticesTop = `The program holds the parts named below, each under the licence that follows its
name. Portions of this software are copyright The FreeType Project. All rights
reserved. No part was changed.
`

// writeNotices gives the texts that have to go with the program.
func writeNotices(w io.Writer) error {
	list, err := modules()
	if err != nil {
		return err
	}
	fmt.Fprint(w, noticesTop)
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return fmt.Errorf("go env: %w", err)
	}
	standard := module{Path: "standard library of Go", texts: []string{filepath.Join(strings.TrimSpace(string(root)), "LICENSE")}}
	for _, m := range append([]module{standard}, list...) {
		for _, path := range m.texts {
			text, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			fmt.Fprintf(w, "\n%s\n%s, %s\n\n%s\n", strings.Repeat("=", 80), strings.TrimSpace(m.Path+" "+m.Version), filepath.Base(path), strings.TrimSpace(string(text)))
		}
	}
	return nil
}

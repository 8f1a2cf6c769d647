// Command mutants plants each fault of mutants.yaml in turn, without writing to the
// tree, and demands that the test named beside it fails. Run it at the top of the
// repository: go run ./.ci/mutants
package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"github.com/goccy/go-yaml"
)

// A mutant is a fault and the test that must catch it.
type mutant struct {
	Wrong, File, Old, New string
	Test                  string // package and name
}

func main() {
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, "mutants:", err)
		os.Exit(1)
	}
}

func run() error {
	text, err := os.ReadFile(".ci/mutants/mutants.yaml")
	if err != nil {
		return err
	}
	var list []mutant
	if err := yaml.UnmarshalWithOptions(text, &list, yaml.Strict()); err != nil {
		return err
	}
	dir, err := os.MkdirTemp("", "mutants")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	var missed []error
	for _, m := range list {
		if err := m.mustBeCaught(dir); err != nil {
			missed = append(missed, fmt.Errorf("%s (%s): %w", m.Wrong, m.File, err))
			continue
		}
		fmt.Printf("%s: caught by %s\n", m.Wrong, m.Test)
	}
	fmt.Printf("%d faults planted, %d caught\n", len(list), len(list)-len(missed))
	return errors.Join(missed...)
}

// mustBeCaught lets the test run on the sound program, then on the faulty one.
func (m mutant) mustBeCaught(dir string) error {
	overlay, err := m.overlay(dir)
	if err != nil {
		return err
	}
	pkg, test, _ := strings.Cut(m.Test, " ")
	args := []string{"test", "-v", "-run", "^" + test + "$"}
	out, err := exec.Command("go", append(args, "./"+pkg)...).CombinedOutput()
	if err != nil || !bytes.Contains(out, []byte("--- PASS: "+test)) {
		return fmt.Errorf("%s does not pass without the fault: %v\n%s", m.Test, err, out)
	}
	out, err = exec.Command("go", append(args, "-overlay", overlay, "./"+pkg)...).CombinedOutput()
	switch {
	case err == nil:
		return fmt.Errorf("%s does not see the fault", m.Test)
	case !bytes.Contains(out, []byte("--- FAIL: "+test)):
		return fmt.Errorf("%s does not fail but: %s", m.Test, out)
	}
	return nil
}

// overlay writes the faulty file and what go test needs to use it in place of the
// sound one.
func (m mutant) overlay(dir string) (string, error) {
	text, err := os.ReadFile(m.File)
	if err != nil {
		return "", err
	}
	if n := strings.Count(string(text), m.Old); n != 1 {
		return "", fmt.Errorf("%q stands %d times in the file: the list has to follow the code", m.Old, n)
	}
	faulty := filepath.Join(dir, "faulty.go")
	if err := os.WriteFile(faulty, []byte(strings.Replace(string(text), m.Old, m.New, 1)), 0o666); err != nil {
		return "", err
	}
	sound, err := filepath.Abs(m.File)
	if err != nil {
		return "", err
	}
	replace, err := json.Marshal(map[string]map[string]string{"Replace": {sound: faulty}})
	if err != nil {
		return "", err
	}
	path := filepath.Join(dir, "overlay.json")
	return path, os.WriteFile(path, replace, 0o666)
}

package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"injtab/export"
	"injtab/fit"
	"injtab/fit/bench"
	"injtab/fit/unit"
	"injtab/tables"
)

const verifyAbout = `Reads the tables in DIR back and looks them up as an ECU does, for every pulsed reading of
BENCH: which volume would the ECU have thought it asked for? The error is that volume less
the one read, in per cent; positive is lean. Held-open readings, leak tests, readings of
zero, those judged wrong and those outside the axes are counted apart. Tables belong to
the bench file that they were made from; --other-session compares them with another one
of the same injectors.`

const verifyExample = `  injtab demo
  injtab verify injtab-demo injtab-demo/bench.csv --within 10%
  injtab verify injtab-demo injtab-demo/bench.csv --hold-out 'every 5th'
`

// A verifyChoice is what the flags of verify say.
type verifyChoice struct {
	within  unit.Ratio
	holdOut string
	other   bool
}

func (a *app) verifyVerb() *cobra.Command {
	var v verifyChoice
	c := a.verb("verify DIR BENCH", "Prove the tables in a folder against readings", verifyAbout, verifyExample, files("DIR", "BENCH"))
	c.Flags().Var(&share{to: &v.within}, "within", "exit 1 unless 95 of 100 readings are this near, such as 2%")
	c.Flags().StringVar(&v.holdOut, "hold-out", "", "fit again without `READINGS` ('every 5th', 'each condition') and compare with those alone")
	c.Flags().BoolVar(&v.other, "other-session", false, "BENCH is another session than the tables were made from")
	a.longForms(c.Flags(), "the errors by region of pulse, pressure and voltage")
	c.RunE = func(_ *cobra.Command, args []string) error { return a.verify(args[0], args[1], v) }
	return c
}

func (a *app) verify(dir, path string, choice verifyChoice) error {
	if info, err := os.Stat(dir); err == nil && !info.IsDir() {
		return usage("%s is a file: name the folder of tables first, then the bench file", dir)
	}
	folder, err := export.ReadFolder(dir)
	if err != nil {
		return err
	}
	s, err := a.readSession(path)
	if err != nil {
		return err
	}
	a.warn(s.notes...)
	if err := a.sameInput(dir, folder, s, choice); err != nil {
		return err
	}
	v, err := proveFolder(folder, s, choice)
	if err != nil {
		return err
	}
	table := v.Table()
	facts := []tables.Fact{{Name: "Tables", Value: dir}, {Name: "Readings", Value: fileName(path)}}
	if err := a.show(result{json: v, report: v.Report(facts), table: &table}); err != nil {
		return err
	}
	if v.Broken() {
		return brokenLimit{fmt.Errorf("--within: the 95th percentile of the errors is %.2f %%, beyond the limit of %.4g %%", v.P95, v.WithinPct)}
	}
	return nil
}

// proveFolder compares the tables of the folder, or those of a fit without the
// readings held out, with readings.
func proveFolder(folder export.Folder, s session, choice verifyChoice) (tables.Verification, error) {
	ecu, err := tables.NewECU(folder.Tables)
	if err != nil {
		return tables.Verification{}, err
	}
	if err := ecu.TakeSession(folder.Tables); err != nil {
		return tables.Verification{}, err
	}
	var v tables.Verification
	if choice.holdOut != "" {
		h, err := tables.ParseHoldOut(choice.holdOut)
		if err != nil {
			return v, usage("--hold-out: %w", err)
		}
		v, err = tables.VerifyHeldOut(ecu, s.checked, h, tables.VerifyOptions{Within: choice.within})
		if err != nil {
			return v, err
		}
	} else if v, err = tables.Verify(ecu, s.checked, tables.VerifyOptions{Within: choice.within, Model: modelOf(s.checked)}); err != nil {
		return v, err
	}
	v.Edited = folder.State.Edited
	return v, nil
}

// modelOf is the fit of the same readings, to tell what of the errors is its own; nil
// where the readings can't be fitted.
func modelOf(c bench.Checked) func(string, unit.Time, unit.Pressure, unit.Voltage) (float64, bool) {
	m, err := fit.Injectors(c, fit.Options{})
	if err != nil {
		return nil
	}
	return tables.ModelOf(m)
}

// sameInput refuses tables that were made from another bench file, and tells which
// files are no longer as they were written.
func (a *app) sameInput(dir string, folder export.Folder, s session, choice verifyChoice) error {
	for _, name := range folder.State.Missing {
		return fmt.Errorf("folder %s: %s is missing, which its manifest lists; build the tables again", dir, name)
	}
	if len(folder.Manifest.Inputs) == 0 {
		return fmt.Errorf("folder %s: its manifest names no bench file; build the tables again", dir)
	}
	made := folder.Manifest.Inputs[0]
	if made.Hash != s.input().Hash && !choice.other {
		return fmt.Errorf("folder %s was made from %s (%.15s…), and %s is another file (%.15s…): name that file, or give --other-session to compare the tables with another session of the same injectors",
			dir, made.Name, made.Hash, fileName(s.path), s.input().Hash)
	}
	if err := a.sameWorkbook(dir, folder); err != nil {
		return err
	}
	if len(folder.State.Edited) > 0 {
		a.message("warning: folder %s: edited since it was written: %s; the figures below are of the edited tables", dir, strings.Join(folder.State.Edited, ", "))
	}
	return nil
}

// sameWorkbook tells where the workbook has not the cells of the CSV files: one of them
// was edited. As they were written they have the same.
func (a *app) sameWorkbook(dir string, folder export.Folder) error {
	if len(folder.State.Edited) == 0 {
		return nil
	}
	f, err := os.Open(filepath.Join(dir, workbookName))
	if errors.Is(err, fs.ErrNotExist) {
		return nil // a folder without one
	}
	if err != nil {
		return fmt.Errorf("folder %s: %s can't be read: %w", dir, workbookName, err)
	}
	defer f.Close()
	sheets, err := export.ReadWorkbook(f)
	if err != nil {
		return fmt.Errorf("folder %s: %s: %w", dir, workbookName, err)
	}
	if differs := tables.Disagreement(export.AsInWorkbook(folder.Tables), sheets); differs != "" {
		a.message("warning: folder %s: the CSV files and %s disagree: %s; the CSV files are proved", dir, workbookName, differs)
	}
	return nil
}

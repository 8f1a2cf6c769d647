package main

import (
	"bytes"
	"errors"
	"fmt"
	"slices"

	"github.com/spf13/pflag"

	"injtab/tables/engine"
)

// An engineChoice is what an engine file and the flags say of the engine; a flag
// wins over the file.
type engineChoice struct {
	file  string
	given []engineInput
	ready *engine.Inputs // an engine that needs no file
}

type engineInput struct {
	field engine.Field
	text  string
}

// engineFlag is a flag for one input of the engine.
type engineFlag struct {
	field  engine.Field
	choice *engineChoice
	text   string
}

func (e *engineFlag) Set(text string) error {
	var in engine.Inputs
	if err := e.field.Set(&in, text); err != nil {
		return err
	}
	e.text = text
	e.choice.given = append(e.choice.given, engineInput{e.field, text})
	return nil
}

func (e *engineFlag) String() string { return e.text }
func (e *engineFlag) Type() string   { return e.field.Unit }

// register adds --engine and a flag for each input but those that are flags of the
// verb already.
func (e *engineChoice) register(f *pflag.FlagSet, without ...string) {
	f.StringVar(&e.file, "engine", "", "engine `FILE`: YAML, one input a line under the names of the flags below")
	for _, field := range engine.Fields() {
		if !slices.Contains(without, field.Flag()) {
			f.Var(&engineFlag{field: field, choice: e}, field.Flag(), field.About)
		}
	}
}

// any tells whether anything was said of the engine.
func (e engineChoice) any() bool { return e.file != "" || len(e.given) > 0 || e.ready != nil }

// gives finds the first flag that was given among some inputs.
func (e engineChoice) gives(keys ...string) (flag string, ok bool) {
	for _, x := range e.given {
		if slices.Contains(keys, x.field.Key) {
			return x.field.Flag(), true
		}
	}
	return "", false
}

// inputs puts file and flags together.
func (a *app) engineInputs(e engineChoice) (in engine.Inputs, err error) {
	if e.ready != nil {
		in = *e.ready
	}
	if e.file != "" {
		data, err := a.slurp(e.file)
		if err != nil {
			return in, err
		}
		if in, err = engine.ReadFile(bytes.NewReader(data), fileName(e.file)); err != nil {
			return in, err
		}
	}
	for _, x := range e.given {
		if err := x.field.Set(&in, x.text); err != nil {
			return in, usage("--%s: %w", x.field.Flag(), err)
		}
	}
	return in, nil
}

// wrong says how an engine's inputs are given. Where a file was read, the file is
// at fault; else the command.
func (e engineChoice) wrong(err error) error {
	if errors.As(err, &engine.Unknown{}) {
		return err
	}
	if e.file != "" {
		return fmt.Errorf("%s: %w", fileName(e.file), err)
	}
	return usage("%w (inputs are flags, with hyphens for underscores, or lines of an --engine file)", err)
}

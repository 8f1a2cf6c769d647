package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"

	"injtab/export"
	"injtab/fit/unit"
	"injtab/tables"
)

// list is a flag's value of several quantities.
type list[Q ~float64] struct {
	kind unit.Kind[Q]
	to   *[]Q
	text string
}

func listFlag[Q ~float64](f *pflag.FlagSet, to *[]Q, kind unit.Kind[Q], name, about string) {
	f.Var(&list[Q]{kind: kind, to: to}, name, about)
}

func (l *list[Q]) Set(text string) (err error) {
	l.text = text
	*l.to, err = l.kind.ParseList(text)
	return err
}

func (l *list[Q]) String() string { return l.text }
func (l *list[Q]) Type() string   { return "values" }

// span is a flag's value of a lowest and a highest quantity.
type span[Q ~float64] struct {
	kind unit.Kind[Q]
	to   *[2]Q
	text string
}

func (s *span[Q]) Set(text string) error {
	s.text = text
	ends, err := s.kind.ParseList(text)
	if err != nil {
		return err
	}
	if len(ends) != 2 || ends[0] >= ends[1] {
		return fmt.Errorf("%q is no range: write the lowest and the highest, such as %q", text, "2,4"+s.kind.Units[0].Symbol)
	}
	*s.to = [2]Q{ends[0], ends[1]}
	return nil
}

func (s *span[Q]) String() string { return s.text }
func (s *span[Q]) Type() string   { return "lowest,highest" }

// formWriter is how a form of this name is written; nil without a name.
func formWriter(path string) (func(io.Writer, tables.FillForm) error, error) {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".xlsx":
		return export.FormXLSX, nil
	case ".csv":
		return export.FormCSV, nil
	}
	if path == "" {
		return nil, nil
	}
	return nil, usage("--output: %s ends in neither .xlsx nor .csv", path)
}

package main

import (
	"io"
	"slices"

	"injtab/export"
)

// output is a place to write to: replaced only with --force, and never what was read.
func (a *app) output(path string, force bool) export.Output {
	o := export.Output{Path: path, Inputs: a.read}
	if force {
		o.Replace = export.Force
	}
	return o
}

// outputBeside is output before the inputs have been read.
func (a *app) outputBeside(path string, force bool, inputs ...string) export.Output {
	o := a.output(path, force)
	o.Inputs = append(slices.Clone(o.Inputs), inputs...)
	return o
}

func (a *app) writeFolder(o export.Output, files []export.NamedFile) error {
	err := o.Folder(files)
	if err == nil {
		a.written = append(a.written, o.Path)
	}
	return err
}

func (a *app) writeFile(o export.Output, data []byte) error {
	err := o.File(func(w io.Writer) error { _, err := w.Write(data); return err })
	if err == nil {
		a.written = append(a.written, o.Path)
	}
	return err
}

// tellWritten says which outputs are new although something failed after them.
func (a *app) tellWritten() {
	for _, path := range a.written {
		a.message("%s was written before that, and is whole", path)
	}
}

package main

import (
	"bytes"
	"fmt"

	"github.com/spf13/pflag"

	"injtab/export"
	"injtab/tables"
)

// A plotChoice is where pictures go.
type plotChoice struct {
	dir   string
	force bool
}

func (p *plotChoice) register(f *pflag.FlagSet, name string) {
	f.StringVar(&p.dir, name, "", "folder `DIR` for every chart as SVG and PNG")
	f.BoolVar(&p.force, "force", false, "replace a folder of pictures that exists")
}

// checkPlots tells, before any work is done, whether the folder can't be written.
func (a *app) checkPlots(p plotChoice, inputs ...string) error {
	if p.dir == "" {
		return nil
	}
	return a.outputBeside(p.dir, p.force, inputs...).CheckFolder()
}

// writePlots draws every chart of a report into the folder; nothing without one.
func (a *app) writePlots(p plotChoice, r tables.Report) error {
	if p.dir == "" {
		return nil
	}
	files, err := pictures(r)
	if err != nil {
		return err
	}
	if len(files) == 0 {
		return usage("there is no chart to write to %s", p.dir)
	}
	last, err := export.NewManifest("Charts", r.Title+".", a.inputs, nil, files).JSON()
	if err != nil {
		return err
	}
	return a.writeFolder(a.output(p.dir, p.force), append(files, last))
}

// pictures are the charts of a report, each as SVG and PNG; of charts with one name
// the later ones are numbered.
func pictures(r tables.Report) (files []export.NamedFile, err error) {
	seen := map[string]int{}
	var buf bytes.Buffer
	for _, s := range r.Sections {
		for _, c := range s.Charts {
			if seen[c.Name]++; seen[c.Name] > 1 {
				c.Name = fmt.Sprintf("%s_%d", c.Name, seen[c.Name])
			}
			buf.Reset()
			if err := export.SVG(&buf, c); err != nil {
				return nil, err
			}
			files = append(files, export.NamedFile{Name: c.Name + ".svg", Data: bytes.Clone(buf.Bytes())})
			buf.Reset()
			if err := export.PNG(&buf, c); err != nil {
				return nil, err
			}
			files = append(files, export.NamedFile{Name: c.Name + ".png", Data: bytes.Clone(buf.Bytes())})
		}
	}
	return files, nil
}

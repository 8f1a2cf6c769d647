package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// A module is one that the program is built of, for any platform.
type module struct {
	Path, Version, Dir string
	Main               bool
	texts              []string // paths of its licences
	licences           []string // SPDX identifiers
}

// modules lists what the program is built of for all platforms, with licences.
func modules() ([]module, error) {
	all := map[string]module{}
	for _, system := range []string{"linux", "darwin", "windows"} {
		list := exec.Command("go", "list", "-deps", "-json=Module", "./cmd/injtab")
		list.Env = append(os.Environ(), "GOOS="+system, "CGO_ENABLED=0")
		out, err := list.Output()
		if err != nil {
			return nil, fmt.Errorf("go list: %w", err)
		}
		for d := json.NewDecoder(bytes.NewReader(out)); ; {
			var p struct{ Module *module }
			if err := d.Decode(&p); err == io.EOF {
				break
			} else if err != nil {
				return nil, err
			}
			if p.Module != nil && !p.Module.Main {
				all[p.Module.Path] = *p.Module
			}
		}
	}
	list := make([]module, 0, len(all))
	for _, path := range slices.Sorted(maps.Keys(all)) {
		m := all[path]
		if err := m.findLicences(); err != nil {
			return nil, err
		}
		list = append(list, m)
	}
	return list, nil
}

// chosen is the licence of a module that leaves the choice.
var chosen = map[string]string{"github.com/golang/freetype": "licenses/ftl.txt"}

var licenceName = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents)`)

func (m *module) findLicences() error {
	if text, ok := chosen[m.Path]; ok {
		m.texts = []string{filepath.Join(m.Dir, text)}
	} else {
		files, err := os.ReadDir(m.Dir)
		if err != nil {
			return err
		}
		for _, f := range files {
			if !f.IsDir() && licenceName.MatchString(f.Name()) {
				m.texts = append(m.texts, filepath.Join(m.Dir, f.Name()))
			}
		}
	}
	var unclear []error
	for _, path := range m.texts {
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		if id, ok := licenceOf(string(text)); ok {
			m.licences = append(m.licences, id)
		} else {
			unclear = append(unclear, fmt.Errorf("%s %s: the licence in %s is none of those allowed: read it, and add it to licenceOf if it may be used", m.Path, m.Version, filepath.Base(path)))
		}
	}
	m.licences = slices.DeleteFunc(m.licences, func(id string) bool { return id == "" })
	slices.Sort(m.licences)
	m.licences = slices.Compact(m.licences)
	if len(m.licences) == 0 && len(unclear) == 0 {
		unclear = append(unclear, fmt.Errorf("%s %s has no licence that can be found", m.Path, m.Version))
	}
	return errors.Join(unclear...)
}

// licenceOf recognises the licences that the program's own (MIT) may be given away
// with; "" is a text that grants more than the licence beside it.
func licenceOf(text string) (id string, ok bool) {
	text = strings.ToLower(strings.Join(strings.Fields(text), " "))
	for _, l := range []struct{ id, phrase string }{
		{"OFL-1.1", "sil open font license version 1.1"},
		{"FTL", "the freetype project license"},
		{"CC-BY-4.0", "creative commons attribution 4.0 international"},
		{"Apache-2.0", "apache license version 2.0, january 2004"},
		{"MIT", "permission is hereby granted, free of charge, to any person obtaining a copy of this software"},
		{"BSD-3-Clause", "contributors may be used to endorse or promote products derived from this software"},
		{"BSD-3-Clause", "may not be used to endorse or promote products derived from this software"},
		{"BSD-2-Clause", "redistribution and use in source and binary forms, with or without modification, are permitted"},
		{"", "additional ip rights grant (patents)"},
	} {
		if strings.Contains(text, l.phrase) {
			return l.id, true
		}
	}
	return "", false
}

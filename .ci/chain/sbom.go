package main

import (
	"debug/buildinfo"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strings"
)

// A bom is a bill of materials by CycloneDX 1.6 (ECMA-424), as far as it is used here.
type bom struct {
	Schema     string       `json:"$schema"`
	Format     string       `json:"bomFormat"`
	Spec       string       `json:"specVersion"`
	Version    int          `json:"version"`
	Metadata   metadata     `json:"metadata"`
	Components []component  `json:"components"`
	Depends    []dependency `json:"dependencies"`
}

type metadata struct {
	Component component `json:"component"`
}

type component struct {
	Type     string    `json:"type"`
	Ref      string    `json:"bom-ref"`
	Name     string    `json:"name"`
	Version  string    `json:"version,omitempty"`
	PURL     string    `json:"purl"`
	Hashes   []hash    `json:"hashes,omitempty"`
	Licences []licence `json:"licenses,omitempty"`
}

type hash struct {
	Algorithm string `json:"alg"`
	Content   string `json:"content"`
}

type licence struct {
	License struct {
		ID string `json:"id"`
	} `json:"license"`
}

type dependency struct {
	Ref string   `json:"ref"`
	On  []string `json:"dependsOn"`
}

// writeSBOM lists what a binary says it was built from.
func writeSBOM(w io.Writer, binary string) error {
	info, err := buildinfo.ReadFile(binary)
	if err != nil {
		return err
	}
	list, err := modules()
	if err != nil {
		return err
	}
	licences := map[string][]string{}
	for _, m := range list {
		licences[m.Path] = m.licences
	}
	version, err := programVersion()
	if err != nil {
		return err
	}
	b := bom{Schema: "http://cyclonedx.org/schema/bom-1.6.schema.json", Format: "CycloneDX", Spec: "1.6", Version: 1}
	b.Metadata.Component = newComponent("application", info.Main.Path, version, []string{"MIT"})
	on := dependency{Ref: b.Metadata.Component.Ref}
	b.Components = append(b.Components, newComponent("library", "std", strings.TrimPrefix(info.GoVersion, "go"), []string{"BSD-3-Clause"}))
	for _, m := range info.Deps {
		c := newComponent("library", m.Path, m.Version, licences[m.Path])
		if c.Licences == nil {
			return fmt.Errorf("%s is in the binary and has no licence", m.Path)
		}
		if c.Hashes, err = sumOf(m.Sum); err != nil {
			return fmt.Errorf("%s: %w", m.Path, err)
		}
		b.Components = append(b.Components, c)
	}
	for _, c := range b.Components {
		on.On = append(on.On, c.Ref)
	}
	b.Depends = []dependency{on}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(b)
}

func newComponent(kind, path, version string, licences []string) component {
	purl := "pkg:golang/" + path + "@" + version
	c := component{Type: kind, Ref: purl, Name: path, Version: version, PURL: purl}
	for _, id := range licences {
		var l licence
		l.License.ID = id
		c.Licences = append(c.Licences, l)
	}
	return c
}

// sumOf turns the sum of a module in go.sum, "h1:" and base 64, into hex. It is the
// SHA-256 of the list of its files with their sums.
func sumOf(sum string) ([]hash, error) {
	raw, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(sum, "h1:"))
	if err != nil || len(raw) != 32 {
		return nil, fmt.Errorf("%q is no sum of a module", sum)
	}
	return []hash{{"SHA-256", hex.EncodeToString(raw)}}, nil
}

// programVersion is the constant that outputs state.
func programVersion() (string, error) {
	text, err := os.ReadFile("export/export.go")
	if err != nil {
		return "", err
	}
	_, rest, _ := strings.Cut(string(text), "Version = \"")
	version, _, ok := strings.Cut(rest, "\"")
	if !ok {
		return "", fmt.Errorf("export/export.go has no version")
	}
	return version, nil
}

package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
	"time"
)

func TestLicenceOf(t *testing.T) {
	for text, want := range map[string]string{
		"Permission is hereby granted, free of charge, to any\n person obtaining a copy of this software and": "MIT",
		"                 Apache License\n     Version 2.0, January 2004":                                     "Apache-2.0",
		"SIL OPEN FONT LICENSE Version 1.1 ... Permission is hereby granted, free of charge, to any person":   "OFL-1.1",
	} {
		if id, ok := licenceOf(text); !ok || id != want {
			t.Errorf("%q: %s, %v; want %s", text, id, ok, want)
		}
	}
	for _, text := range []string{"", "All rights reserved.", "GNU GENERAL PUBLIC LICENSE Version 3, 29 June 2007"} {
		if id, ok := licenceOf(text); ok {
			t.Errorf("%q was taken for %s", text, id)
		}
	}
}

// The licences of what the program is built of are known, and no module is without.
func TestModules(t *testing.T) {
	t.Chdir("../..")
	list, err := modules()
	if err != nil || len(list) < 10 {
		t.Fatalf("%d modules, %v", len(list), err)
	}
	seen := map[string]bool{}
	for _, m := range list {
		seen[m.Path] = true
		if len(m.licences) == 0 {
			t.Errorf("%s has no licence", m.Path)
		}
	}
	if !seen["github.com/inconshreveable/mousetrap"] { // which is built into the one for Windows alone
		t.Error("the list is of one platform")
	}
}

func TestArchiveHasTheSameBytes(t *testing.T) {
	pack := func(suffix string, when time.Time) []byte {
		dir := filepath.Join(t.TempDir(), "injtab-1")
		for name, mode := range map[string]os.FileMode{"injtab": 0o700, "README.md": 0o600} {
			path := filepath.Join(dir, name)
			if err := os.MkdirAll(dir, 0o777); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, []byte(name), mode); err != nil {
				t.Fatal(err)
			}
			if err := os.Chtimes(path, when, when); err != nil {
				t.Fatal(err)
			}
		}
		to := filepath.Join(t.TempDir(), "x"+suffix)
		if err := archive(dir, to); err != nil {
			t.Fatal(err)
		}
		data, err := os.ReadFile(to)
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	for _, suffix := range []string{".tar.gz", ".zip"} {
		if !bytes.Equal(pack(suffix, time.Unix(1e9, 0)), pack(suffix, time.Unix(1.5e9, 0))) {
			t.Errorf("%s: other times of the files, other bytes", suffix)
		}
	}
	if err := archive(t.TempDir(), filepath.Join(t.TempDir(), "x.rar")); err == nil {
		t.Error("a suffix without a meaning was taken")
	}
}

package main

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strconv"

	"injtab/export"
	"injtab/fit"
	"injtab/fit/bench"
	"injtab/fit/diag"
)

// A session is a bench file that was read and checked.
type session struct {
	path    string
	checked bench.Checked
	notes   []diag.Note // what the check found
}

// maxInput bounds an input that is no bench file; an engine file has a kilobyte.
const maxInput = 1 << 20

// mostBytes bounds a bench file.
func mostBytes() (int64, error) {
	text := os.Getenv(bench.SizeVariable)
	if text == "" {
		return bench.MaxBytes, nil
	}
	mb, err := strconv.ParseInt(text, 10, 32)
	if err != nil || mb < 1 {
		return 0, usage("the environment variable %s is %q: expected a whole number of megabytes, such as 512", bench.SizeVariable, text)
	}
	return mb << 20, nil
}

// slurp reads a file, or standard input for "-".
func (a *app) slurp(path string) ([]byte, error) {
	in := a.in
	if path != "-" {
		f, err := a.openInput(path)
		if err != nil {
			return nil, err
		}
		defer f.Close()
		in = f
	}
	data, err := io.ReadAll(io.LimitReader(in, maxInput+1))
	switch {
	case err != nil:
		return nil, fmt.Errorf("%s can't be read: %w", fileName(path), plain(err))
	case len(data) > maxInput:
		return nil, fmt.Errorf("%s has more than %d MB, which no engine file needs: is it the right file?", fileName(path), maxInput>>20)
	}
	a.inputs = append(a.inputs, export.NewInput(fileName(path), fmt.Sprintf("%x", sha256.Sum256(data))))
	return data, nil
}

// openInput opens a file that no output of this run may replace.
func (a *app) openInput(path string) (*os.File, error) {
	a.read = append(a.read, path)
	f, err := os.Open(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("%s does not exist: check the name and the folder", path)
	case err != nil:
		return nil, fmt.Errorf("%s can't be read: %w", path, plain(err))
	}
	if info, err := f.Stat(); err == nil && info.IsDir() {
		f.Close()
		return nil, fmt.Errorf("%s is a folder: name a file in it", path)
	}
	return f, nil
}

// plain is what the system said, without the path again.
func plain(err error) error {
	var at *fs.PathError
	if errors.As(err, &at) {
		return at.Err
	}
	return err
}

// readSession reads and checks a bench file.
func (a *app) readSession(path string) (session, error) {
	defer a.working("reading")()
	in := a.in
	size := int64(unknown)
	if path != "-" {
		f, err := a.openInput(path)
		if err != nil {
			return session{}, err
		}
		defer f.Close()
		in = f
		if info, err := f.Stat(); err == nil {
			size = info.Size()
		}
	}
	whileReading(size)
	s, err := checkSession(path, in)
	if err == nil {
		a.inputs = append(a.inputs, s.input())
	}
	return s, err
}

func checkSession(path string, in io.Reader) (session, error) {
	most, err := mostBytes()
	if err != nil {
		return session{}, err
	}
	sheet, err := bench.ReadUpTo(in, fileName(path), most)
	if err != nil {
		return session{}, err
	}
	thrifty(sheet.Readings.Len())
	checked, notes, err := bench.Check(sheet)
	return session{path: path, checked: checked, notes: notes}, err
}

// fileName is what a bench file is called in messages.
func fileName(path string) string {
	if path == "-" {
		return "standard input"
	}
	return path
}

// input names the session's file for the manifest of what is made from it.
func (s session) input() export.Input {
	return export.NewInput(fileName(s.path), s.checked.Sheet().SHA256)
}

// An origin is what outputs say of the session that they were made from.
type origin struct {
	title, file string
	input       export.Input
}

func (s session) origin() origin { return origin{title(s), fileName(s.path), s.input()} }

// fitSession reads, checks and fits a bench file.
func (a *app) fitSession(path string, o fit.Options) (session, *fit.Model, error) {
	s, err := a.readSession(path)
	if err != nil {
		return s, nil, err
	}
	defer a.working("fitting")()
	m, err := fit.Injectors(s.checked, o)
	return s, m, err
}

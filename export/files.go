package export

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
)

// Replace says what may become of an output that exists already.
type Replace uint8

const (
	Never      Replace = iota // it stays and is an error
	IfUnedited                // a folder whose manifest matches its files may go
	Force                     // it may go; a folder only if its manifest lists every file
)

// An Output is a place to write to. The old one stays whole until the new one is
// complete beside it; then they change places. Nothing is left behind on failure.
type Output struct {
	Path    string
	Replace Replace
	Inputs  []string // files that were read and must not be written
}

// CheckFile tells, before any work is done, what File would refuse.
func (o Output) CheckFile() error {
	old, err := o.look()
	if err != nil {
		return err
	}
	return o.allowFile(old)
}

// File writes one file. Its errors, write's own among them, are sentences that say
// what stands at the place now.
func (o Output) File(write func(io.Writer) error) error {
	old, err := o.look()
	if err != nil {
		return err
	}
	if err := o.allowFile(old); err != nil {
		return err
	}
	defer hold()()
	undo, err := makeParents(filepath.Dir(o.Path))
	if err != nil {
		return err
	}
	if err := o.writeBeside(old, write); err != nil {
		undo()
		return err
	}
	return nil
}

// look finds what stands at the path now, nil for nothing, and refuses a path
// that names no file of its own.
func (o Output) look() (fs.FileInfo, error) {
	if o.Path == "" {
		return nil, errors.New("no output was named; give a path to write to")
	}
	if o.Path == "-" {
		return nil, errors.New("- is standard input and no place to write to; name a file or folder")
	}
	old, err := os.Lstat(o.Path)
	switch {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENOTDIR): // makeParents tells of a file on the way
		return nil, nil
	case err != nil:
		return nil, fmt.Errorf("%s can't be written: %w", o.Path, cause(err))
	case old.Mode()&fs.ModeSymlink != 0:
		return nil, fmt.Errorf("%s is a link to another place; name the place itself, or remove the link", o.Path)
	}
	for _, input := range o.Inputs {
		if in, err := os.Stat(input); err == nil && os.SameFile(in, old) {
			return nil, fmt.Errorf("%s is the input; it is never written, so name another output", o.Path)
		}
	}
	return old, nil
}

func (o Output) allowFile(old fs.FileInfo) error {
	last := o.Path[len(o.Path)-1]
	switch {
	case old == nil && os.IsPathSeparator(last), old != nil && old.IsDir():
		return fmt.Errorf("%s is a folder; name a file in it", o.Path)
	case old == nil:
		return nil
	case !old.Mode().IsRegular():
		return fmt.Errorf("%s is no ordinary file; name another output", o.Path)
	case o.Replace != Force:
		return fmt.Errorf("%s exists already; give --force to replace it, or name another output", o.Path)
	case old.Mode().Perm()&0o222 == 0:
		return fmt.Errorf("%s is read-only; make it writable, or name another output", o.Path)
	}
	return nil
}

// writeBeside writes a temporary file in the same folder, so that the rename
// can't cross a file system, and gives it the old one's permissions.
func (o Output) writeBeside(old fs.FileInfo, write func(io.Writer) error) (err error) {
	f, err := createTemp(filepath.Dir(o.Path))
	if err != nil {
		return o.failed(old, err)
	}
	defer func() { // also when write panics
		f.Close()
		os.Remove(f.Name())
	}()
	err = write(f)
	if err == nil {
		err = f.Sync()
	}
	if err == nil && old != nil {
		err = f.Chmod(old.Mode().Perm())
	}
	if err == nil {
		err = f.Close()
	}
	if err == nil && old == nil {
		err = renameNew(f.Name(), o.Path)
	} else if err == nil {
		err = os.Rename(f.Name(), o.Path)
	}
	if err != nil {
		return o.failed(old, err)
	}
	return nil
}

// failed says why the output was not written, and what stands there now.
func (o Output) failed(old fs.FileInfo, err error) error {
	switch {
	case old == nil && errors.Is(err, fs.ErrExist):
		return fmt.Errorf("%s was written by somebody else in the meantime and stays as it is; give --force to replace it, or name another output", o.Path)
	case old == nil:
		return fmt.Errorf("%s can't be written: %w; nothing was left there", o.Path, cause(err))
	}
	return fmt.Errorf("%s can't be written: %w; the old one stays as it was", o.Path, cause(err))
}

// makeParents makes the folders that are missing on the way to dir; undo removes
// those again that it made and that are still empty.
func makeParents(dir string) (undo func(), err error) {
	var missing []string // deepest first
	for p := dir; ; p = filepath.Dir(p) {
		info, err := os.Stat(p)
		if err == nil && !info.IsDir() {
			return nil, fmt.Errorf("%s is a file, so nothing can be written below it; name another output", p)
		}
		if err == nil {
			if err := writableDir(p, info); err != nil {
				return nil, err
			}
			break
		}
		if !errors.Is(err, fs.ErrNotExist) && !errors.Is(err, syscall.ENOTDIR) {
			return nil, fmt.Errorf("%s can't be used: %w", p, cause(err))
		}
		missing = append(missing, p)
	}
	undo = func() {
		for _, p := range missing {
			os.Remove(p)
		}
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		undo()
		return nil, fmt.Errorf("folder %s can't be made: %w", dir, cause(err))
	}
	return undo, nil
}

func writableDir(path string, info fs.FileInfo) error {
	if info.Mode().Perm()&0o222 == 0 {
		return fmt.Errorf("folder %s is read-only; make it writable, or name another output", path)
	}
	return nil
}

// cause is what the system said, without the name of a temporary file.
func cause(err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err
	}
	var link *os.LinkError
	if errors.As(err, &link) {
		return link.Err
	}
	return err
}

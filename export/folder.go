package export

import (
	"bufio"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
)

// A NamedFile is one file of a folder; Name is relative with slashes between.
type NamedFile struct {
	Name  string
	Data  []byte
	made  func() ([]byte, error) // instead of Data
	write func(io.Writer) error  // instead of Data
	size  int
	hash  string
}

// FileBeside is a file that is made while others are written; what keeps it from being made
// keeps its folder from being written.
func FileBeside(name string, make func() ([]byte, error)) NamedFile {
	made := sync.OnceValues(make)
	go made()
	return NamedFile{Name: name, made: made}
}

// LargeFile is a file that is written when its folder is, so that it is never held: write
// gives the same bytes each time. It is called once before, to learn size and hash.
func LargeFile(name string, write func(io.Writer) error) (NamedFile, error) {
	sum := sha256.New()
	n := counter{to: sum}
	out := bufio.NewWriterSize(&n, chunk)
	if err := errors.Join(write(out), out.Flush()); err != nil {
		return NamedFile{}, err
	}
	return NamedFile{Name: name, write: write, size: int(n.bytes), hash: hashText(sum.Sum(nil))}, nil
}

const chunk = 1 << 16 // bytes that are written at once

// writeTo writes the file's content.
func (f NamedFile) writeTo(w io.Writer) error {
	if f.write == nil {
		data, err := f.data()
		if err == nil {
			_, err = w.Write(data)
		}
		return err
	}
	out := bufio.NewWriterSize(w, chunk)
	return errors.Join(f.write(out), out.Flush())
}

// data is the content, for which it waits.
func (f NamedFile) data() ([]byte, error) {
	if f.made != nil {
		return f.made()
	}
	return f.Data, nil
}

// measured are the size in bytes and the hash of the file's content.
func (f NamedFile) measured() (size int, hash string) {
	if f.write == nil {
		data, _ := f.data() // the error is told where it is written
		return len(data), Hash(data)
	}
	return f.size, f.hash
}

// CheckFolder tells, before any work is done, what Folder would refuse.
func (o Output) CheckFolder() error {
	o.Path = filepath.Clean(o.Path)
	old, err := o.look()
	if err != nil {
		return err
	}
	return o.allowFolder(old)
}

// Folder writes a folder of outputs as a whole: the new one is complete beside
// the old one before they change places, so there is never a mixture. An old
// folder goes only if it holds no file but those that its manifest lists.
func (o Output) Folder(files []NamedFile) error {
	o.Path = filepath.Clean(o.Path)
	old, err := o.look()
	if err != nil {
		return err
	}
	if err := o.allowFolder(old); err != nil {
		return err
	}
	defer hold()()
	parent := filepath.Dir(o.Path)
	undo, err := makeParents(parent)
	if err != nil {
		return err
	}
	if err := o.build(parent, old, files); err != nil {
		undo()
		return o.failed(old, err)
	}
	return nil
}

func (o Output) allowFolder(old fs.FileInfo) error {
	if old == nil {
		return nil
	}
	if !old.IsDir() {
		return fmt.Errorf("%s is a file, and a folder of that name is needed; name another output", o.Path)
	}
	present, err := listFiles(o.Path)
	if err != nil {
		return fmt.Errorf("folder %s can't be read: %w", o.Path, cause(err))
	}
	if len(present) == 0 {
		return writableDir(o.Path, old)
	}
	if o.Replace == Never {
		return fmt.Errorf("folder %s exists already; give --force to replace it, or name another output", o.Path)
	}
	if err := writableDir(o.Path, old); err != nil {
		return err
	}
	if err := o.holdsInput(); err != nil {
		return err
	}
	return o.ownFolder(present)
}

// holdsInput refuses to replace a folder that an input lies in.
func (o Output) holdsInput() error {
	for _, input := range o.Inputs {
		for p := filepath.Clean(input); ; p = filepath.Dir(p) {
			if same(p, o.Path) {
				return fmt.Errorf("folder %s holds the input %s, so it is not replaced; name another output", o.Path, input)
			}
			if p == filepath.Dir(p) {
				break
			}
		}
	}
	return nil
}

func same(a, b string) bool {
	x, errX := os.Stat(a)
	y, errY := os.Stat(b)
	return errX == nil && errY == nil && os.SameFile(x, y)
}

// ownFolder refuses to replace what the manifest does not account for.
func (o Output) ownFolder(present []string) error {
	manifest, err := ReadManifest(o.Path)
	if err != nil {
		return fmt.Errorf("folder %s is not replaced, because it has no readable %s that shows it was written here; remove it by hand, or name another output", o.Path, ManifestName)
	}
	listed := manifest.paths()
	for _, name := range present {
		if name != ManifestName && !slices.Contains(listed, name) {
			return fmt.Errorf("folder %s is not replaced, because it holds %s, which %s does not list; move that file away, or name another output",
				o.Path, shown(name), ManifestName)
		}
	}
	if o.Replace == Force {
		return nil
	}
	state, err := manifest.Check(o.Path)
	if err != nil {
		return err
	}
	if len(state.Edited) > 0 {
		return fmt.Errorf("folder %s exists already and %s was edited; give --force to replace it, or name another output", o.Path, state.Edited[0])
	}
	return nil
}

// listFiles lists all that is no folder, with slashes, in order.
func listFiles(dir string) ([]string, error) {
	var names []string
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		name, err := filepath.Rel(dir, path)
		names = append(names, filepath.ToSlash(name))
		return err
	})
	return names, err
}

func (o Output) build(parent string, old fs.FileInfo, files []NamedFile) error {
	temp, err := createTempDir(parent)
	if err != nil {
		return err
	}
	defer os.RemoveAll(temp) // the new folder on failure, the old one after the swap
	if err := writeAll(temp, files); err != nil {
		return err
	}
	if old == nil {
		return renameNew(temp, o.Path)
	}
	return swap(temp, o.Path)
}

// writeAll writes files one after the other; while the disk takes one in the next is
// written.
func writeAll(dir string, files []NamedFile) error {
	const most = 8 // that the disk takes in at a time
	errs := make([]error, len(files))
	slots := make(chan struct{}, most)
	var wait sync.WaitGroup
	for i, f := range files {
		var out *os.File
		if out, errs[i] = writeInto(dir, f); errs[i] != nil {
			break
		}
		slots <- struct{}{}
		wait.Go(func() {
			errs[i] = errors.Join(out.Sync(), out.Close())
			<-slots
		})
	}
	wait.Wait()
	for i, err := range errs {
		if err != nil {
			return fmt.Errorf("%s: %w", shown(files[i].Name), cause(err))
		}
	}
	return nil
}

var errOutside = errors.New("the name leaves the folder")

// writeInto writes a file, which stays open.
func writeInto(dir string, f NamedFile) (*os.File, error) {
	if !filepath.IsLocal(filepath.FromSlash(f.Name)) || strings.Contains(f.Name, `\`) {
		return nil, errOutside
	}
	path := filepath.Join(dir, filepath.FromSlash(f.Name))
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return nil, err
	}
	out, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return nil, err
	}
	if err := f.writeTo(out); err != nil {
		return nil, errors.Join(err, out.Close())
	}
	return out, nil
}

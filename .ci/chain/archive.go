package main

import (
	"archive/tar"
	"archive/zip"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"time"
)

// epoch is the time that every file of an archive has: the earliest that zip knows.
var epoch = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)

// A packer adds a file to an archive.
type packer interface {
	add(name string, mode fs.FileMode, data []byte) error
	io.Closer
}

// archive packs a folder, whose last name comes before each file's, in the order of
// names, without times and owners.
func archive(folder, to string) (err error) {
	out, err := os.Create(to)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, out.Close()) }()
	var p packer
	switch {
	case strings.HasSuffix(to, ".tar.gz"):
		z, err := gzip.NewWriterLevel(out, gzip.BestCompression)
		if err != nil {
			return err
		}
		p = tarball{tar.NewWriter(z), z}
	case strings.HasSuffix(to, ".zip"):
		p = zipped{zip.NewWriter(out)}
	default:
		return fmt.Errorf("%s ends in neither .tar.gz nor .zip", to)
	}
	root := os.DirFS(folder)
	err = fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := fs.ReadFile(root, name)
		if err != nil {
			return err
		}
		mode := fs.FileMode(0o644)
		if strings.TrimSuffix(name, ".exe") == "injtab" {
			mode = 0o755
		}
		return p.add(path.Join(filepath.Base(folder), name), mode, data)
	})
	return errors.Join(err, p.Close())
}

type tarball struct {
	*tar.Writer
	z *gzip.Writer
}

func (t tarball) add(name string, mode fs.FileMode, data []byte) error {
	err := t.WriteHeader(&tar.Header{Name: name, Mode: int64(mode), Size: int64(len(data)), ModTime: epoch, Format: tar.FormatUSTAR})
	if err != nil {
		return err
	}
	_, err = t.Write(data)
	return err
}

func (t tarball) Close() error { return errors.Join(t.Writer.Close(), t.z.Close()) }

type zipped struct{ *zip.Writer }

func (z zipped) add(name string, mode fs.FileMode, data []byte) error {
	h := &zip.FileHeader{Name: name, Method: zip.Deflate, Modified: epoch}
	h.SetMode(mode)
	w, err := z.CreateHeader(h)
	if err != nil {
		return err
	}
	_, err = w.Write(data)
	return err
}

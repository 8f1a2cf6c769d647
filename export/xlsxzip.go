package export

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"errors"
	"hash/crc32"
	"io"
	"io/fs"
	"regexp"
	"runtime"
	"slices"
	"sort"
	"strings"
	"sync"
)

// A sortedZip collects the parts of a workbook and writes them in order and
// without times, so that the same workbook has the same bytes. On the way it puts
// the cells into the sheets and the names of cells into the workbook, and mends what the
// library has no setting for.
type sortedZip struct {
	out   *zip.Writer
	parts map[string]*bytes.Buffer
	cells map[string]*cellGrid // by the names of the sheets' parts
	named []byte               // defined names beside those that the library writes
}

func newZip(w io.Writer, cells map[string]*cellGrid, named []byte) *sortedZip {
	return &sortedZip{out: zip.NewWriter(w), parts: map[string]*bytes.Buffer{}, cells: cells, named: named}
}

// Create begins a part; what is written to it is kept until Close.
func (z *sortedZip) Create(name string) (io.Writer, error) {
	part := new(bytes.Buffer)
	z.parts[name] = part
	return part, nil
}

// AddFS takes all files of a file system as parts.
func (z *sortedZip) AddFS(fsys fs.FS) error {
	return fs.WalkDir(fsys, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := fs.ReadFile(fsys, path)
		z.parts[path] = bytes.NewBuffer(data)
		return err
	})
}

// Close writes the parts. The list of types stands first, as readers expect.
func (z *sortedZip) Close() error {
	names := make([]string, 0, len(z.parts))
	for name := range z.parts {
		names = append(names, name)
	}
	sort.Strings(names) // "[" sorts before lower case letters
	packed, err := z.pack(names)
	if err != nil {
		return err
	}
	for _, p := range packed {
		w, err := z.out.CreateRaw(&p.FileHeader)
		if err != nil {
			return err
		}
		if _, err := w.Write(p.data.Bytes()); err != nil {
			return err
		}
	}
	return z.out.Close()
}

// A packed is a part as the archive holds it.
type packed struct {
	zip.FileHeader
	data bytes.Buffer
}

// pack deflates the parts side by side.
func (z *sortedZip) pack(names []string) ([]packed, error) {
	list := make([]packed, len(names))
	return list, sideBySide(len(names), runtime.GOMAXPROCS(0), func(i int) error { return z.packPart(&list[i], names[i]) })
}

// deflaters are used again: one takes a megabyte.
var deflaters = sync.Pool{New: func() any {
	w, _ := flate.NewWriter(nil, quick) // a level that exists
	return w
}}

// quick is a level of compression: the usual one, 6, makes the demonstration's workbook
// 12 % smaller and takes a third longer for it.
const quick = 1

func (z *sortedZip) packPart(p *packed, name string) error {
	deflate := deflaters.Get().(*flate.Writer)
	defer deflaters.Put(deflate)
	deflate.Reset(&p.data)
	sum := crc32.NewIEEE()
	n := counter{to: io.MultiWriter(deflate, sum)}
	if err := z.write(&n, name); err != nil {
		return err
	}
	if err := deflate.Close(); err != nil {
		return err
	}
	p.FileHeader = zip.FileHeader{
		Name: name, Method: zip.Deflate, CRC32: sum.Sum32(),
		UncompressedSize64: n.bytes, CompressedSize64: uint64(p.data.Len()),
	}
	return nil
}

// write writes a part as it shall be.
func (z *sortedZip) write(w io.Writer, name string) error {
	data := z.parts[name].Bytes()
	switch {
	case name == "[Content_Types].xml":
		data = sortDefaults(data)
	case name == "xl/workbook.xml" && len(z.named) > 0:
		data = withNames(data, z.named)
	case strings.HasPrefix(name, "xl/charts/chart"):
		data = mendChart(data)
	case z.cells[name] != nil:
		return z.writeSheet(w, data, z.cells[name])
	}
	_, err := w.Write(data)
	return err
}

// writeSheet puts columns and cells in the place of those that the library knows.
func (z *sortedZip) writeSheet(w io.Writer, data []byte, cells *cellGrid) error {
	head, rest, has := bytes.Cut(data, []byte("<sheetData>"))
	_, tail, ends := bytes.Cut(rest, []byte("</sheetData>"))
	if !has || !ends {
		return errors.New("the library wrote a sheet without a place for cells")
	}
	head, _, _ = bytes.Cut(head, []byte("<cols>"))
	if _, err := w.Write(slices.Concat(head, cells.columns(), []byte("<sheetData>"))); err != nil {
		return err
	}
	if err := cells.write(w); err != nil {
		return err
	}
	_, err := w.Write(slices.Concat([]byte("</sheetData>"), tail))
	return err
}

// withNames puts names behind those that the library knows, or where these would be.
func withNames(data, named []byte) []byte {
	if at := bytes.Index(data, []byte("</definedNames>")); at >= 0 {
		return slices.Insert(data, at, named...)
	}
	before, after, _ := bytes.Cut(data, []byte("</sheets>"))
	return slices.Concat(before, []byte("</sheets><definedNames>"), named, []byte("</definedNames>"), after)
}

// mendChart takes away a title's own text properties, without which an upright axis has
// an upright title, and calls abscissas numbers: the library calls all of them texts,
// which have no place on a scale.
func mendChart(data []byte) []byte {
	const begin, end = "<txPr>", "</txPr></title>"
	for {
		to := bytes.Index(data, []byte(end))
		from := bytes.LastIndex(data[:max(to, 0)], []byte(begin))
		if from < 0 {
			break
		}
		data = slices.Delete(data, from, to+len("</txPr>"))
	}
	data = bytes.ReplaceAll(data, []byte("<xVal><strRef>"), []byte("<xVal><numRef>"))
	return bytes.ReplaceAll(data, []byte("</strRef></xVal>"), []byte("</numRef></xVal>"))
}

var defaults = regexp.MustCompile(`<Default [^>]*></Default>|<Default [^>]*/>`)

// sortDefaults puts the Default entries, which the library writes in the order of
// a map, into alphabetical order.
func sortDefaults(data []byte) []byte {
	list := defaults.FindAll(data, -1)
	sort.Slice(list, func(i, k int) bool { return bytes.Compare(list[i], list[k]) < 0 })
	list = append([][]byte{}, list...)
	n := -1
	return defaults.ReplaceAllFunc(data, func([]byte) []byte { n++; return list[n] })
}

package export

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"html"
	"io"
	"io/fs"
	"regexp"
	"sort"
	"strings"
)

// A sortedZip collects the parts of a workbook and writes them in order and
// without times, so that the same workbook has the same bytes. On the way it
// mends what the library has no setting for.
type sortedZip struct {
	out   *zip.Writer
	parts map[string]*bytes.Buffer
	said  map[string]string // by formula, the text that it gives
}

func newZip(w io.Writer, said map[string]string) *sortedZip {
	return &sortedZip{out: zip.NewWriter(w), parts: map[string]*bytes.Buffer{}, said: said}
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
	for _, name := range names {
		w, err := z.out.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate})
		if err != nil {
			return err
		}
		if _, err := w.Write(z.mend(name, z.parts[name].Bytes())); err != nil {
			return err
		}
	}
	return z.out.Close()
}

func (z *sortedZip) mend(name string, data []byte) []byte {
	switch {
	case name == "[Content_Types].xml":
		return sortDefaults(data)
	case strings.HasPrefix(name, "xl/charts/chart"):
		data = titleProperties.ReplaceAll(data, []byte("</title>"))
		return textAbscissa.ReplaceAll(data, []byte("<xVal><numRef>$1</numRef></xVal>"))
	case strings.HasPrefix(name, "xl/worksheets/sheet"):
		return z.sayTexts(formulaText.ReplaceAll(data, []byte("><f>$1</f><v>$2</v>")))
	}
	return data
}

// sayTexts stores the texts that formulas give, which the library can't.
func (z *sortedZip) sayTexts(data []byte) []byte {
	return textFormula.ReplaceAllFunc(data, func(cell []byte) []byte {
		formula := textFormula.FindSubmatch(cell)[1]
		var text bytes.Buffer
		if err := xml.EscapeText(&text, []byte(z.said[html.UnescapeString(string(formula))])); err != nil || text.Len() == 0 {
			return cell
		}
		return fmt.Appendf(nil, "<f>%s</f><v>%s</v></c>", formula, text.Bytes())
	})
}

var (
	defaults = regexp.MustCompile(`<Default [^>]*></Default>|<Default [^>]*/>`)

	// A title's own text properties hold it level; without them an upright axis
	// has an upright title.
	titleProperties = regexp.MustCompile(`<txPr>(?:[^<]|<[^/]|</[^t]|</t[^x])*</txPr></title>`)

	// The library calls all abscissas texts, which have no place on a scale.
	textAbscissa = regexp.MustCompile(`<xVal><strRef>(<f>[^<]*</f>)</strRef></xVal>`)

	// A formula without a stored value.
	textFormula = regexp.MustCompile(`<f>([^<]*)</f></c>`)

	// The library marks every formula's stored value as a text.
	formulaText = regexp.MustCompile(` t="str"><f>([^<]*)</f><v>(-?[0-9][0-9.eE+-]*)</v>`)
)

// sortDefaults puts the Default entries, which the library writes in the order of
// a map, into alphabetical order.
func sortDefaults(data []byte) []byte {
	list := defaults.FindAll(data, -1)
	sort.Slice(list, func(i, k int) bool { return bytes.Compare(list[i], list[k]) < 0 })
	list = append([][]byte{}, list...)
	n := -1
	return defaults.ReplaceAllFunc(data, func([]byte) []byte { n++; return list[n] })
}

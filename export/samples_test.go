package export

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"testing"

	"injtab/tables"
)

// TestSamples writes what the tests make where EXPORT_SAMPLES says, to look at.
func TestSamples(t *testing.T) {
	dir := os.Getenv("EXPORT_SAMPLES")
	if dir == "" {
		t.Skip("EXPORT_SAMPLES names no folder")
	}
	draw := func(f func(io.Writer, tables.Chart) error, c tables.Chart) []byte {
		var buf bytes.Buffer
		if err := f(&buf, c); err != nil {
			t.Fatal(err)
		}
		return buf.Bytes()
	}
	for name, data := range map[string][]byte{
		"curve.png": draw(PNG, curve()), "bars.png": draw(PNG, bars()), "curve.svg": draw(SVG, curve()), "bars.svg": draw(SVG, bars()),
		"hostile.svg": draw(SVG, hostileReport().Sections[0].Charts[0]),
		"sample.html": pageOf(t, sampleReport()), "hostile.html": pageOf(t, hostileReport()),
		"sample.xlsx":  workbookOf(t, sampleReport(), sampleCalculation()),
		"hostile.xlsx": workbookOf(t, hostileReport()),
	} {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o666); err != nil {
			t.Fatal(err)
		}
	}
}

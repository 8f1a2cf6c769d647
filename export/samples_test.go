package export

import (
	"os"
	"path/filepath"
	"testing"
)

// TestSamples writes what the tests make where EXPORT_SAMPLES says, to look at.
func TestSamples(t *testing.T) {
	dir := os.Getenv("EXPORT_SAMPLES")
	if dir == "" {
		t.Skip("EXPORT_SAMPLES names no folder")
	}
	for name, data := range map[string][]byte{
		"curve.png": drawn(t, PNG, curve()), "bars.png": drawn(t, PNG, bars()), "curve.svg": drawn(t, SVG, curve()), "bars.svg": drawn(t, SVG, bars()),
		"hostile.svg": drawn(t, SVG, hostileChart()),
		"sample.html": pageOf(t, sampleReport()), "hostile.html": pageOf(t, hostileReport()),
		"sample.xlsx":  workbookOf(t, sampleReport(), sampleCalculation()),
		"hostile.xlsx": workbookOf(t, hostileReport()),
	} {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o666); err != nil {
			t.Fatal(err)
		}
	}
}

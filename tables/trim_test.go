package tables

import (
	"testing"
)

// TestEveryTrimHelps: with any form of the trims the demonstration's readings are met
// better than with the mean injector for all.
func TestEveryTrimHelps(t *testing.T) {
	m := demoModel(t)
	e := ecuOf(t, m, Options{Each: true})
	v, err := Verify(e, m.Checked, VerifyOptions{})
	if err != nil {
		t.Fatal(err)
	}
	untrimmed, forms := 0.0, 0
	for _, f := range v.Forms {
		if f.TwoWay {
			continue
		}
		if forms++; f.Form == NoTrim.String() {
			untrimmed = f.MeanAbs
		} else if f.MeanAbs > 0.8*untrimmed {
			t.Errorf("%s misses by %.2f %% on the average, no trim by %.2f %%", f.Form, f.MeanAbs, untrimmed)
		}
	}
	if forms != len(Forms) {
		t.Errorf("%d forms of %d", forms, len(Forms))
	}
}

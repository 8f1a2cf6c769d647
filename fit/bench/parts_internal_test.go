package bench

import (
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// begin reads a file down to its header, which has to be right.
func begin(t rapid.TB, text string) (*parser, source) {
	t.Helper()
	p := &parser{file: "b.csv", most: MaxBytes, collect: func() collector { return collector{} }}
	in, s, err := p.takeIn(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	src, err := open(p, in, s)
	if err != nil {
		t.Fatal(err)
	}
	if rows, err := src.preamble(); err != nil {
		t.Fatal(err)
	} else if p.readHeader(rows); p.err() != nil {
		t.Fatal(p.err())
	}
	p.vary(src)
	return p, src
}

// inParts reads a file in parts of a few bytes, and tells whether that could be done.
func inParts(t *testing.T, text string, least int64) (*parser, bool) {
	t.Helper()
	p, src := begin(t, text)
	return p, p.readParts(src, least)
}

// TestReadsPartsAsTheWhole: a file read in parts gives what it gives in one, lines too.
func TestReadsPartsAsTheWhole(t *testing.T) {
	var long, weighed, wide strings.Builder
	long.WriteString("# fluid = n-heptane\ninjector,run,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v,slot\n")
	weighed.WriteString("# fluid = n-heptane\ninjector;pulse_ms;period_ms;shots;mass_g;pressure_kpa;voltage_v\n")
	wide.WriteString("pulse_ms,period_ms,shots,pressure_kpa,voltage_v,L1,L2,L3\n")
	for i := range 300 {
		if i%17 == 5 {
			long.WriteString("\n")
		}
		fmt.Fprintf(&long, "N%d,%d,%g,20,1000,%.1f,300,13.5,%d\n", i%7+i/60, i/4, 2+float64(i/50), 5+float64(i%9)/10, i%3)
		fmt.Fprintf(&weighed, "N%d;%d;20;1000;%d;300;13.5\n", i%7, 2+i/50, max(0, i-150)%9)
		fmt.Fprintf(&wide, "%d,20,1000,300,13.5,%.1f,,%.1f\n", 2+i/50, 5+float64(i%9)/10, 6+float64(i%5)/10)
	}
	for _, text := range []string{long.String(), weighed.String(), wide.String()} {
		for _, least := range []int64{100, 1000, 3000} {
			p, ok := inParts(t, text, least)
			if !ok {
				t.Fatalf("not read in parts of %d: %.80q", least, text)
			}
			whole, err := Read(strings.NewReader(text), "b.csv")
			if err != nil {
				t.Fatal(err)
			}
			parts := p.finish()
			if diff := cmp.Diff(whole.Readings.List(), parts.Readings.List()); diff != "" {
				t.Fatalf("in parts of %d: %s", least, diff)
			}
			if whole.Missing != parts.Missing {
				t.Errorf("in parts of %d: %d amounts are missing, want %d", least, parts.Missing, whole.Missing)
			}
		}
	}
}

// TestLeavesTroubleToTheWhole: what has to be told is told with its line, by reading the file
// in one.
func TestLeavesTroubleToTheWhole(t *testing.T) {
	const row = "1;2;20;1000;7.5;300;13.5\n"
	for _, bad := range []string{"1;2;20;1000;x;300;13.5\n", "#1;2;20;1000;7.5;300;13.5\n", "1;2;20;1000;7,5;300;13.5\n", "1;2;20;1000;7.5;300\n"} {
		text := "injector;pulse_ms;period_ms;shots;volume_ml;pressure_kpa;voltage_v\n" + strings.Repeat(row, 50) + bad + strings.Repeat(row, 50)
		p, ok := inParts(t, text, 200)
		if ok || p.readings.rows != nil || len(p.errs) > 0 {
			t.Errorf("%q was read in parts", bad)
		}
		if _, err := Read(strings.NewReader(text), "b.csv"); err == nil || !strings.Contains(err.Error(), "line 52") {
			t.Errorf("%q: %v", bad, err)
		}
	}
}

// TestLineEndOfShorterFile: a file that became shorter since its size was taken ends there,
// and is not looked through for ever.
func TestLineEndOfShorterFile(t *testing.T) {
	if at, err := lineEnd(io.NewSectionReader(strings.NewReader("1;2"), 0, 1000), 1); err != nil || at != 1000 {
		t.Errorf("the line ends at %d, %v; want 1000", at, err)
	}
}

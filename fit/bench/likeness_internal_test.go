package bench

import (
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// rowByRow reads a file without the short cuts: no row is believed for what the one before
// has, and no part is read beside another.
func rowByRow(t *testing.T, text string) *parser {
	p, src := begin(t, text)
	for !p.full {
		cells, line, _, err := src.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		p.like = false
		p.readRow(cells, line)
	}
	p.judgeSigns()
	p.judgeHashes()
	return p
}

// TestShortCutsReadTheSame: rows that differ from the one before in a cell or two, some of
// them no readings, give the same readings and the same errors with and without them.
func TestShortCutsReadTheSame(t *testing.T) {
	columns := []string{"injector", "pulse_ms", "period_ms", "shots", "volume_ml", "pressure_kpa", "voltage_v", "note"}
	cells := map[string][]string{
		"injector":     {"1", "2", "3", " 4", "'=5", "#6", ""},
		"pulse_ms":     {"2", "3", "2.0", ""},
		"period_ms":    {"20", "25"},
		"shots":        {"1000", "500", "x"},
		"volume_ml":    {"7.5", "7.6", "0", "", " 8.1", "+7", "-1", "75e-1", "7,5", "9999"},
		"pressure_kpa": {"300", "400", ""},
		"voltage_v":    {"13.5", "12", ""},
		"note":         {"", "", "# later", "again"},
	}
	good, bad := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		order := rapid.Permutation(columns).Draw(rt, "order")
		row := make([]string, len(order))
		for i, name := range order {
			row[i] = cells[name][0]
		}
		lines := []string{strings.Join(order, ";")}
		for range rapid.IntRange(1, 60).Draw(rt, "rows") {
			for range rapid.IntRange(0, 2).Draw(rt, "changes") {
				i := rapid.IntRange(0, len(order)-1).Draw(rt, "column")
				all := cells[order[i]]
				if rapid.IntRange(0, 9).Draw(rt, "odd") == 9 {
					row[i] = rapid.SampledFrom(all).Draw(rt, "cell")
				} else { // mostly readings
					row[i] = all[rapid.IntRange(0, 1).Draw(rt, "usual")]
				}
			}
			lines = append(lines, strings.Join(row, ";"))
		}
		text := strings.Join(lines, "\n") + "\n"
		want := rowByRow(t, text)
		got, src := begin(t, text)
		if !got.readParts(src, 100) {
			got.readRows(src)
		}
		got.judgeSigns()
		got.judgeHashes()
		if diff := cmp.Diff(fmt.Sprint(want.err()), fmt.Sprint(got.err())); diff != "" {
			rt.Fatalf("%s\n%s", text, diff)
		}
		if want.err() != nil {
			bad++
			return
		}
		good++
		if diff := cmp.Diff(want.finish().Readings.List(), got.finish().Readings.List()); diff != "" || want.out.Missing != got.out.Missing {
			rt.Fatalf("%s\n%s", text, diff)
		}
	})
	if good == 0 || bad == 0 {
		t.Errorf("%d files were good and %d bad: want some of both", good, bad)
	}
}

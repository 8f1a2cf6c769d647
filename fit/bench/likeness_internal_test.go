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
func rowByRow(t rapid.TB, text string) *parser {
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
// them no readings, give the same readings and the same errors with and without them,
// whatever says how often and how long the injector was open.
func TestShortCutsReadTheSame(t *testing.T) {
	layouts := []struct{ setup, columns string }{
		{"", "injector pulse_ms period_ms shots volume_ml pressure_kpa voltage_v note"},
		{"", "injector run pulse_ms period_ms shots volume_ml pressure_kpa voltage_v"},
		{"", "injector pulse_ms frequency_hz duration_s volume_ml pressure_kpa voltage_v"},
		{"", "injector pulse_ms period_ms duration_s volume_ml pressure_kpa voltage_v"},
		{"# pulse_ms = 20\n", "injector period_ms shots volume_ml pressure_kpa voltage_v temp_c"},
		{"# duration_s = 20\n", "injector pulse_ms period_ms volume_ml pressure_kpa voltage_v note"},
	}
	cells := map[string][]string{
		"injector":     {"1", "2", "3", " 4", "'=5", "#6", ""},
		"run":          {"1", "2", " 17", "'-", "x", ""},
		"pulse_ms":     {"2", "20", "2.0", "3", "0", ""},
		"period_ms":    {"20", "25", "20.005", ""},
		"frequency_hz": {"50", "40", "0"},
		"duration_s":   {"20", "25", "1e1"},
		"temp_c":       {"21.5", "22", "", "-3"},
		"shots":        {"1000", "500", "x"},
		"volume_ml":    {"7.5", "7.6", "0", "", " 8.1", "+7", "-1", "75e-1", "7,5", "9999"},
		"pressure_kpa": {"300", "400", ""},
		"voltage_v":    {"13.5", "12", ""},
		"note":         {"", "", "# later", "again"},
	}
	good, bad := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		layout := rapid.SampledFrom(layouts).Draw(rt, "layout")
		order := rapid.Permutation(strings.Fields(layout.columns)).Draw(rt, "order")
		row := make([]string, len(order))
		for i, name := range order {
			row[i] = cells[name][0]
		}
		lines := []string{layout.setup + strings.Join(order, ";")}
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
		if shortCutsReadTheSame(rt, strings.Join(lines, "\n")+"\n") {
			good++
		} else {
			bad++
		}
	})
	if good == 0 || bad == 0 {
		t.Errorf("%d files were good and %d bad: want some of both", good, bad)
	}
}

// TestWhatOnlyTheRowBeforeHad: what was worked out for a row, or what it has and the next has
// not, is not taken for that of the next.
func TestWhatOnlyTheRowBeforeHad(t *testing.T) {
	for name, text := range map[string]string{
		"time of a leak test": "injector;pulse_ms;period_ms;duration_s;volume_ml;pressure_kpa;voltage_v\n1;0;;60;0.2;300;\n1;0;;90;0.2;300;\n",
		"period of none":      "injector;pulse_ms;period_ms;duration_s;volume_ml;pressure_kpa;voltage_v\n1;0;;60;0.2;300;13.5\n1;2;;60;9;300;13.5\n",
		"frequency of 0":      "injector;pulse_ms;frequency_hz;shots;volume_ml;pressure_kpa;voltage_v\n1;2;50;1000;7;300;13.5\n1;2;0;500;7;300;13.5\n",
		"pulse held open":     "injector;pulse_ms;period_ms;shots;volume_ml;pressure_kpa;voltage_v\n1;20;20.005;1000;70;300;13.5\n1;20;25;1000;70;300;13.5\n",
		"and of all":          "# pulse_ms = 20\ninjector;period_ms;shots;volume_ml;pressure_kpa;voltage_v\n1;20.005;1000;70;300;13.5\n1;25;1000;70;300;13.5\n",
		"shots of all":        "# duration_s = 20\ninjector;pulse_ms;period_ms;volume_ml;pressure_kpa;voltage_v\n1;2;20;7;300;13.5\n1;2;25;7;300;13.5\n",
		"empty cell":          "injector;run;pulse_ms;period_ms;shots;volume_ml;pressure_kpa;voltage_v\n1;1;2;20;1000;7;300;13.5\n1;;2;20;500;7;300;13.5\n1;2;2;20;500;7;300;13.5\n",
		"blanks":              "injector;run;pulse_ms;period_ms;shots;volume_ml;pressure_kpa;voltage_v\n1;1;2;20;1000;7;300;13.5\n2;1 ;2;20;500;7;300;13.5\n 3;1;2;20;500; 7;300;13.5\n",
	} {
		t.Run(name, func(t *testing.T) { shortCutsReadTheSame(t, text) })
	}
}

// shortCutsReadTheSame demands it of a file, and tells whether that was good.
func shortCutsReadTheSame(t rapid.TB, text string) bool {
	want := rowByRow(t, text)
	got, src := begin(t, text)
	if !got.readParts(src, 100) {
		got.readRows(src)
	}
	got.judgeSigns()
	got.judgeHashes()
	if diff := cmp.Diff(fmt.Sprint(want.err()), fmt.Sprint(got.err())); diff != "" {
		t.Fatalf("%s\n%s", text, diff)
	}
	if want.err() != nil {
		return false
	}
	if diff := cmp.Diff(want.finish().Readings.List(), got.finish().Readings.List()); diff != "" || want.out.Missing != got.out.Missing {
		t.Fatalf("%s\n%s", text, diff)
	}
	return true
}

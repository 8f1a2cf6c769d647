package export

import (
	"bytes"
	"strings"
	"testing"

	"injtab/tables"
)

func textOf(t testing.TB, r tables.Report, o TextOptions) string {
	t.Helper()
	var buf bytes.Buffer
	if err := Text(&buf, r, o); err != nil {
		t.Fatal(err)
	}
	return buf.String()
}

func TestTextGolden(t *testing.T) {
	golden(t, "report.txt", []byte(textOf(t, sampleReport(), TextOptions{})))
	golden(t, "report-60-ascii.txt", []byte(textOf(t, sampleReport(), TextOptions{Width: 60, ASCII: true})))
}

func TestMarkdownGolden(t *testing.T) {
	var buf bytes.Buffer
	if err := Markdown(&buf, sampleReport()); err != nil {
		t.Fatal(err)
	}
	golden(t, "report.md", buf.Bytes())
}

func TestTextStaysWithinItsWidth(t *testing.T) {
	for _, r := range []tables.Report{sampleReport(), hostileReport()} {
		for _, width := range []int{40, 60, 80, 100, 160} {
			for _, l := range strings.Split(textOf(t, r, TextOptions{Width: width}), "\n") {
				if n := cellsWide(l); n > width {
					t.Errorf("width %d: %d cells in %q", width, n, l)
				}
			}
		}
	}
}

func TestTextCannotSteerTheTerminal(t *testing.T) {
	for _, o := range []TextOptions{{}, {ASCII: true}, {Width: 40}} {
		for _, r := range textOf(t, hostileReport(), o) {
			if r != '\n' && hidden(r) {
				t.Errorf("%+v: the text holds %U", o, r)
			}
			if o.ASCII && r > 0x7e {
				t.Errorf("the ASCII text holds %U", r)
			}
		}
	}
}

func TestColorOnlyAdds(t *testing.T) {
	with, without := textOf(t, sampleReport(), TextOptions{Color: true}), textOf(t, sampleReport(), TextOptions{})
	if with == without {
		t.Error("no colour was set")
	}
	for _, code := range []string{bold, yellow, plain} {
		with = strings.ReplaceAll(with, code, "")
	}
	if with != without {
		t.Error("colour changes the text itself")
	}
	if strings.Contains(without, "\x1b") {
		t.Error("escapes without colour")
	}
}

func TestTextBeginsWithTheAnswer(t *testing.T) {
	s := textOf(t, sampleReport(), TextOptions{})
	order := []string{"Injector tables", "Four of six injectors", "Bench file", "Dead time", "What to do next", "Cautions"}
	for i := 1; i < len(order); i++ {
		if strings.Index(s, order[i-1]) >= strings.Index(s, order[i]) {
			t.Errorf("%q does not stand before %q", order[i-1], order[i])
		}
	}
}

func TestMarkdownShowsHostileTextsAsTheyAre(t *testing.T) {
	var buf bytes.Buffer
	if err := Markdown(&buf, hostileReport()); err != nil {
		t.Fatal(err)
	}
	for _, l := range strings.Split(buf.String(), "\n") {
		if strings.HasPrefix(l, "    ") {
			continue // a chart's block
		}
		for i, r := range l {
			if strings.ContainsRune("<`[", r) && (i == 0 || l[i-1] != '\\') {
				t.Errorf("markup in %q", l)
			}
		}
	}
	for s, want := range map[string]string{"1. x": `1\. x`, "a|b": `a\|b`, "- x": `\- x`, "2.5 ms": "2.5 ms", "x-y": "x-y", "-0.4": "-0.4", "---": `\---`, "7": "7"} {
		if got := escaped(s); got != want {
			t.Errorf("escaped(%q) = %q, want %q", s, got, want)
		}
	}
}

func TestTextOfAlmostNothing(t *testing.T) {
	empty := tables.Table{Name: "x", Row: tables.Column{Name: "a"}, Cols: []tables.Column{{Name: "b"}}}
	one := tables.Chart{Title: "one", Series: []tables.Series{{Name: "s", Kind: tables.Points, X: []float64{1}, Y: []float64{-2e9}}}}
	r := tables.Report{Sections: []tables.Section{{Tables: []tables.Table{empty}, Charts: []tables.Chart{{Title: "none"}, one}}}}
	s := textOf(t, r, TextOptions{})
	if !strings.Contains(s, "(no points)") || !strings.Contains(s, "●") {
		t.Errorf("got %s", s)
	}
	if got := textOf(t, tables.Report{Title: "t"}, TextOptions{}); got != "t\n=\n\n" {
		t.Errorf("got %q", got)
	}
}

func TestReportsWithBrokenNumbersAreRefused(t *testing.T) {
	r := sampleReport()
	r.Sections[1].Charts[0].Series[1].Y = r.Sections[1].Charts[0].Series[1].Y[1:]
	if err := Text(&bytes.Buffer{}, r, TextOptions{}); err == nil || !strings.Contains(err.Error(), "chart dead_time can't be drawn") {
		t.Errorf("got %v", err)
	}
	if err := Markdown(&bytes.Buffer{}, r); err == nil {
		t.Error("Markdown took it")
	}
}

func TestCompact(t *testing.T) {
	for x, want := range map[float64]string{0: "0", 2.31249: "2.312", 12345: "12345", -0.05: "-0.05", 300: "300", 1e-20: "0", 99.999: "100"} {
		if got := compact(x); got != want {
			t.Errorf("compact(%v) = %s, want %s", x, got, want)
		}
	}
}

func BenchmarkText(b *testing.B) {
	r := sampleReport()
	for b.Loop() {
		textOf(b, r, TextOptions{})
	}
}

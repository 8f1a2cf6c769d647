package export

import (
	"strings"
	"testing"
	"unicode/utf8"
)

func TestCleanShowsWhatIsHidden(t *testing.T) {
	cases := map[string]string{
		"plain 7":            "plain 7",
		"\x1b[31mred":        "<U+001B>[31mred",
		"\x9b2J":             "<9B>2J",
		"a\u009b2J":          "a<U+009B>2J",
		"abc\u202edef":       "abc<U+202E>def",
		"zero\u200bwidth":    "zero<U+200B>width",
		"a\ufe0f":            "a<U+FE0F>",
		"a\u3164b":           "a<U+3164>b",
		"line\nbreak\ttab":   "line break tab",
		"bad\xff":            "bad<FF>",
		"שלום":               "שלום",
		"20 °C ± 1 µs":       "20 °C ± 1 µs",
		"no-break\u00a0here": "no-break\u00a0here",
		"private \ue000":     "private <U+E000>",
		"DEL\x7f":            "DEL<U+007F>",
	}
	for in, want := range cases {
		if got := clean(in); got != want {
			t.Errorf("clean(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestCleanTextsStayApart(t *testing.T) {
	seen := map[string]string{}
	for _, h := range hostile {
		c := clean(h)
		if other, ok := seen[c]; ok && lf(other) != lf(h) {
			t.Errorf("%q and %q look the same", other, h)
		}
		seen[c] = h
		if !utf8.ValidString(c) || strings.ContainsFunc(c, hidden) {
			t.Errorf("clean(%q) = %q", h, c)
		}
	}
}

func TestShortenKeepsBothEnds(t *testing.T) {
	if got := shorten("abcdefghij", 5); got != "ab…ij" {
		t.Errorf("got %q", got)
	}
	if got := shorten("日本語", 3); got != "日本語" {
		t.Errorf("got %q", got)
	}
	if n := utf8.RuneCountInString(shorten(strings.Repeat("x", 10000), 40)); n != 40 {
		t.Errorf("%d characters", n)
	}
}

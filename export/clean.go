package export

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// clean makes a text safe to show on one line: a terminal must not obey it, and
// two texts that differ must look different. Line breaks and tabs become spaces;
// control characters, bidirectional and zero-width marks, private and unassigned
// characters and broken UTF-8 are shown by their code, such as <U+202E>.
func clean(s string) string {
	if plainASCII(s) {
		return s
	}
	var b strings.Builder
	for i, w := 0, 0; i < len(s); i += w {
		var r rune
		r, w = utf8.DecodeRuneInString(s[i:])
		switch {
		case r == utf8.RuneError && w == 1:
			fmt.Fprintf(&b, "<%02X>", s[i])
		case r == '\n' || r == '\t' || r == '\r':
			b.WriteByte(' ')
		case hidden(r):
			fmt.Fprintf(&b, "<U+%04X>", r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// Line is clean for messages, which people read on a terminal too.
func Line(s string) string { return clean(s) }

func plainASCII(s string) bool {
	for i := range len(s) {
		if s[i] < 0x20 || s[i] >= 0x7f {
			return false
		}
	}
	return true
}

// hidden tells whether a character has no picture of its own or changes how its
// neighbours are shown. Spaces other than the plain one count as pictures, but
// the ones without width and the fillers do not.
func hidden(r rune) bool {
	switch r {
	case 0x034F, 0x115F, 0x1160, 0x17B4, 0x17B5, 0x2800, 0x3164, 0xFFA0: // joiner, fillers, blank
		return true
	case 0x2028, 0x2029: // line and paragraph separator
		return true
	}
	if unicode.Is(unicode.Variation_Selector, r) {
		return true
	}
	return !unicode.IsPrint(r) && !unicode.Is(unicode.Zs, r)
}

// shorten cuts the middle out of a text that is longer than most characters, so
// that names that differ at either end still differ.
func shorten(s string, most int) string {
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	runes := []rune(s)
	tail := (most - 1) / 2
	return string(runes[:most-1-tail]) + "…" + string(runes[len(runes)-tail:])
}

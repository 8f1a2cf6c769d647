package export

import (
	"strings"

	"github.com/olekukonko/tablewriter/pkg/twwidth"
)

// cellsWide is the number of terminal cells that a text fills; the same on every
// machine, whatever its locale.
func cellsWide(s string) int {
	if plainASCII(s) {
		return len(s)
	}
	return twwidth.WidthWithOptions(s, twwidth.Options{})
}

// wrap breaks a text into lines of at most width cells at its spaces, and inside
// a word only if the word alone is wider than a line.
func wrap(s string, width int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(s) {
		if line != "" && cellsWide(line)+1+cellsWide(word) <= width {
			line += " " + word
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for cellsWide(word) > width {
			head := fitting(word, width)
			lines = append(lines, head)
			word = word[len(head):]
		}
		line = word
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// fitting is the longest beginning that fills at most width cells, never empty.
func fitting(s string, width int) string {
	used := 0
	for i, r := range s {
		w := cellsWide(string(r))
		if i > 0 && used+w > width {
			return s[:i]
		}
		used += w
	}
	return s
}

// squeeze shortens a text to at most width cells by cutting out its middle.
func squeeze(s string, width int) string {
	if cellsWide(s) <= width {
		return s
	}
	for most := width; most > 3; most-- {
		if short := shorten(s, most); cellsWide(short) <= width {
			return short
		}
	}
	return fitting(s, width)
}

// fill pads a text with spaces to width cells.
func fill(s string, width int) string {
	return s + strings.Repeat(" ", max(width-cellsWide(s), 0))
}

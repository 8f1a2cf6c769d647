package export

import (
	"slices"
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
	for _, word := range together(s, width) {
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

// together are the words of a text; what belongs to a number stays with it where
// that is not too wide for a line.
func together(s string, width int) (words []string) {
	for _, word := range strings.Fields(s) {
		last := len(words) - 1
		if last >= 0 && belongs(words[last], word) && cellsWide(words[last])+1+cellsWide(word) <= min(width, 12+width/4) {
			words[last] += " " + word
			continue
		}
		words = append(words, word)
	}
	return words
}

// bound is a text whose numbers can't be parted from what belongs to them.
func bound(s string) string {
	words := strings.Split(s, " ")
	for i := 1; i < len(words); i++ {
		if words[i-1] != "" && belongs(words[i-1], words[i]) {
			words[i] = words[i-1] + "\u00a0" + words[i]
			words[i-1] = ""
		}
	}
	return strings.Join(slices.DeleteFunc(words, func(w string) bool { return w == "" }), " ")
}

// belongs tells whether a word is the unit of a number before it, or a number's
// uncertainty.
func belongs(before, word string) bool {
	if strings.HasSuffix(before, "±") {
		return true
	}
	end := before[len(before)-1]
	return end >= '0' && end <= '9' && (word == "±" || unitWords[strings.TrimRight(word, ".,;:)")])
}

var unitWords = map[string]bool{"%": true, "ms": true, "us": true, "µs": true, "V": true, "kPa": true, "bar": true, "psi": true, "ml": true, "g": true, "mg": true, "s": true,
	"min": true, "h": true, "l": true, "ml/min": true, "g/min": true, "l/h": true, "kW": true, "rpm": true, "°C": true, "C": true, "ml/s": true, "g/s": true, "g/kWh": true, "kg/m3": true}

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

package bench

import "strings"

// A label is where a text stands in labels.
type label struct{ from, to int }

// Labels keep texts as one piece of memory. One by one the names of 250,000 runs were 250,000
// pieces, which the collector of memory looked at each time: a tenth of reading and checking.
type labels struct {
	text  []byte
	known map[string]label // nil once there are more than onShelf
	last  label
}

// place is where a text is, which is a new place for one that is not found.
func (l *labels) place(text string) label {
	if text == string(l.text[l.last.from:l.last.to]) {
		return l.last
	}
	at, found := l.known[text]
	if !found {
		at = label{len(l.text), len(l.text) + len(text)}
		l.text = append(l.text, text...)
		switch {
		case at.from == 0:
			l.known = map[string]label{strings.Clone(text): at}
		case len(l.known) == onShelf:
			l.known = nil
		case l.known != nil:
			l.known[strings.Clone(text)] = at
		}
	}
	l.last = at
	return at
}

// in is the text of a label.
func (l label) in(text string) string { return text[l.from:l.to] }

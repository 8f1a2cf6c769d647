package bench

import (
	"fmt"
	"strings"

	"injtab/fit/diag"
)

// repeats are the rows that share an error which was told once: a column in a wrong
// unit would otherwise fill the screen.
type repeats struct {
	told int // which error
	more int // rows beside that of the error
	last int // line
}

// shared are the codes of errors that a whole column is likely to have.
var shared = map[string]bool{"absurd": true, "ragged": true, "empty-cell": true, "no-header": true}

// again tells whether a row shares an error that was told, but for its figures.
func (p *parser) again(n diag.Note) bool {
	if !shared[n.Code] || n.Place.Line <= p.header.line {
		return false
	}
	key := n.Code + n.Place.Column + withoutFigures(n.Message)
	r, seen := p.alike[key]
	if !seen {
		r.told = len(p.errs)
	} else {
		r.more, r.last = r.more+1, n.Place.Line
	}
	if p.alike == nil {
		p.alike = map[string]repeats{}
	}
	p.alike[key] = r
	return seen
}

func withoutFigures(text string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune("0123456789.+-e", r) {
			return -1
		}
		return r
	}, text)
}

// tellAgain says behind each error which rows share it.
func (p *parser) tellAgain() {
	for _, r := range p.alike {
		n, ok := p.errs[r.told].(diag.Note)
		if ok && r.more > 0 {
			n.Message += fmt.Sprintf(" (so in %s, down to line %d)", count(r.more, "more row", "more rows"), r.last)
			p.errs[r.told] = n
		}
	}
}

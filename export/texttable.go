package export

import (
	"bytes"
	"strings"

	"github.com/olekukonko/tablewriter"
	"github.com/olekukonko/tablewriter/renderer"
	"github.com/olekukonko/tablewriter/tw"

	"injtab/tables"
)

// A strip is one column ready to set: header, cells, widest text.
type strip struct {
	head  string
	cells []string
	wide  int
	align tw.Align
}

const (
	mostName  = 60  // cells of a text column; longer texts go on in the next line
	someName  = 30  // the same in a table that is too wide for one piece
	leastName = 14  // cells that a text column may shrink to, so that a table fits
	mostText  = 150 // characters of a text in a table; longer ones lose their middle
)

// narrowHeads are cells of a header in a table that would not fit else.
var narrowHeads = []int{12, 10, 8}

// Widths are how wide headers and text columns may be.
type widths struct{ head, text int }

func (p *printer) strip(head string, cells []string, text bool, most widths) strip {
	head = p.name(head, mostText)
	s := strip{head: folded(head, max(most.head, min(longestWord(head), most.text))), align: tw.AlignRight}
	if text {
		s.align = tw.AlignLeft
	}
	s.wide = linesWide(s.head)
	for _, c := range cells {
		if text {
			c = folded(p.name(c, mostText), most.text)
		} else {
			c = p.safe(c)
		}
		s.cells = append(s.cells, c)
		s.wide = max(s.wide, linesWide(c))
	}
	return s
}

// folded breaks a text that is wider than most cells into lines.
func folded(text string, most int) string {
	if cellsWide(text) <= most {
		return text
	}
	return strings.Join(wrap(text, most), "\n")
}

// longestWord is the cells of the widest word of a text.
func longestWord(text string) (wide int) {
	for word := range strings.FieldsSeq(text) {
		wide = max(wide, cellsWide(word))
	}
	return wide
}

// linesWide is the width of the widest line of a text.
func linesWide(text string) (wide int) {
	for line := range strings.SplitSeq(text, "\n") {
		wide = max(wide, cellsWide(line))
	}
	return wide
}

// strips are the columns of a table: texts as wide as they may be, and everything
// narrower where that makes the table fit in one piece.
func (p *printer) strips(t tables.Table) []strip {
	some := min(someName, (p.o.Width-gap-2)/2)
	usual := p.stripsWithin(t, widths{some, some})
	if p.fits(usual) {
		for text := mostName; text > some; text -= 2 {
			if wide := p.stripsWithin(t, widths{some, text}); p.fits(wide) {
				return wide
			}
		}
		return usual
	}
	if !p.fits(p.stripsWithin(t, widths{narrowHeads[len(narrowHeads)-1], leastName})) {
		return usual
	}
	for text := some; text > leastName; text -= 2 {
		for _, head := range narrowHeads {
			if narrow := p.stripsWithin(t, widths{head, text}); p.fits(narrow) {
				return narrow
			}
		}
	}
	return p.stripsWithin(t, widths{narrowHeads[len(narrowHeads)-1], leastName})
}

func (p *printer) stripsWithin(t tables.Table, most widths) []strip {
	heads := headings(t)
	names := make([]string, len(t.Cells))
	for r := range names {
		names[r] = rowShown(t, r)
	}
	words := wordColumns(t)
	all := []strip{p.strip(heads[0], names, words[0], most)}
	for c := range t.Cols {
		all = append(all, p.strip(heads[c+1], column(t, c), words[c+1], most))
	}
	return all
}

func (p *printer) fits(all []strip) bool {
	used := 2 - gap
	for _, s := range all {
		used += gap + s.wide
	}
	return used <= p.o.Width
}

// blocks splits a table into groups of columns that fit the width, each led by
// the first column.
func (p *printer) blocks(t tables.Table) [][]strip {
	all := p.strips(t)
	first := all[0]
	groups := [][]strip{{first}}
	used := first.wide + 2
	for _, s := range all[1:] {
		last := &groups[len(groups)-1]
		if used+gap+s.wide > p.o.Width && len(*last) > 1 {
			groups = append(groups, []strip{first})
			last, used = &groups[len(groups)-1], first.wide+2
		}
		*last = append(*last, s)
		used += gap + s.wide
	}
	return groups
}

const gap = 3 // cells that a further column needs: separator, blank, blank

// grid draws one block; the table library measures, pads and rules it.
func (p *printer) grid(block []strip) {
	var out bytes.Buffer
	table := tablewriter.NewTable(&out,
		tablewriter.WithEastAsian(tw.Off),
		tablewriter.WithRenderer(renderer.NewBlueprint(p.rendition())),
		tablewriter.WithConfig(gridConfig(block)))
	heads := make([]string, len(block))
	for i, s := range block {
		heads[i] = s.head
	}
	table.Header(heads)
	for r := range block[0].cells {
		row := make([]string, len(block))
		for i, s := range block {
			row[i] = s.cells[r]
		}
		table.Append(row) // it fails on streams only
	}
	table.Render() // a buffer takes everything
	for l := range strings.Lines(out.String()) {
		p.line(strings.TrimSuffix(l, "\n"))
	}
}

func (p *printer) rendition() tw.Rendition {
	style := tw.StyleLight
	if p.o.ASCII {
		style = tw.StyleASCII
	}
	return tw.Rendition{
		Borders: tw.Border{Left: tw.Off, Right: tw.Off, Top: tw.Off, Bottom: tw.Off},
		Symbols: tw.NewSymbols(style),
		Settings: tw.Settings{
			Separators: tw.Separators{BetweenColumns: tw.On, BetweenRows: tw.Off, ShowHeader: tw.On},
			Lines:      tw.Lines{ShowHeaderLine: tw.On, ShowTop: tw.Off, ShowBottom: tw.Off},
		},
	}
}

func gridConfig(block []strip) tablewriter.Config {
	align := make([]tw.Align, len(block))
	for i, s := range block {
		align[i] = s.align
	}
	cell := tw.CellConfig{
		Formatting: tw.CellFormatting{AutoWrap: tw.WrapNone, AutoFormat: tw.Off},
		Alignment:  tw.CellAlignment{PerColumn: align},
	}
	return tablewriter.Config{Header: cell, Row: cell, Behavior: tw.Behavior{TrimSpace: tw.Off, AutoHide: tw.Off}}
}

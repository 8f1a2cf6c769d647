package export

import (
	"bytes"
	"io"
	"strings"

	"github.com/olekukonko/tablewriter"
	"github.com/olekukonko/tablewriter/renderer"
	"github.com/olekukonko/tablewriter/tw"

	"injtab/fit/diag"
	"injtab/tables"
)

// TextOptions say what the terminal can show.
type TextOptions struct {
	Width int  // cells in a line; 0 is 100, the least is 40
	ASCII bool // no character beyond ASCII, for terminals without Unicode
	Color bool // headings bold, warnings yellow; never the only sign of anything
}

// Text writes a report for a terminal: the answer first, then the tables and
// charts, then what to do next. The user's texts can't steer the terminal.
func Text(w io.Writer, r tables.Report, o TextOptions) error {
	if err := checkReport(r); err != nil {
		return err
	}
	if o.Width == 0 {
		o.Width = 100
	}
	o.Width = max(o.Width, 40)
	p := &printer{o: o}
	p.report(r)
	_, err := w.Write(p.b.Bytes())
	return err
}

// A printer collects the lines of a report.
type printer struct {
	o TextOptions
	b bytes.Buffer
}

const (
	bold   = "\x1b[1m"
	yellow = "\x1b[33m"
	plain  = "\x1b[0m"
)

// safe makes a text fit for this terminal.
func (p *printer) safe(s string) string {
	if s = clean(s); p.o.ASCII {
		s = ascii(s)
	}
	return s
}

// name makes a text fit for this terminal and for so many cells.
func (p *printer) name(s string, width int) string {
	s = squeeze(p.safe(s), width)
	if p.o.ASCII {
		s = strings.ReplaceAll(s, "…", "~")
	}
	return s
}

// line writes one safe line without blanks at its end.
func (p *printer) line(s string) { p.styled("", s) }

func (p *printer) styled(style, s string) {
	s = strings.TrimRight(s, " ")
	if p.o.Color && style != "" && s != "" {
		s = style + s + plain
	}
	p.b.WriteString(s + "\n")
}

// paragraph wraps a text under a first prefix, later lines indented as far.
func (p *printer) paragraph(style, prefix, s string) {
	indent := strings.Repeat(" ", cellsWide(prefix))
	for _, l := range wrap(p.safe(s), p.o.Width-len(indent)) {
		p.styled(style, prefix+l)
		prefix = indent
	}
}

func (p *printer) heading(s string, rule string) {
	s = p.name(s, p.o.Width)
	p.line("")
	p.styled(bold, s)
	p.line(strings.Repeat(rule, cellsWide(s)))
}

func (p *printer) report(r tables.Report) {
	title := p.name(r.Title, p.o.Width)
	p.styled(bold, title)
	p.line(strings.Repeat("=", cellsWide(title)))
	p.line("")
	for _, s := range r.Answer {
		p.paragraph(bold, "", s)
	}
	p.facts(r.Facts)
	for _, s := range r.Sections {
		p.section(s)
	}
	p.list("What to do next", r.Next)
	p.list("Cautions", r.Cautions)
}

func (p *printer) facts(facts []tables.Fact) {
	if len(facts) == 0 {
		return
	}
	wide := 0
	for _, f := range facts {
		wide = max(wide, cellsWide(p.safe(f.Name)))
	}
	wide = min(wide, p.o.Width/3)
	p.line("")
	for _, f := range facts {
		p.paragraph("", "  "+fill(p.name(f.Name, wide), wide)+"  ", f.Value)
	}
}

func (p *printer) list(title string, items []string) {
	if len(items) == 0 {
		return
	}
	p.heading(title, "-")
	for _, s := range items {
		p.paragraph("", "- ", s)
	}
}

func (p *printer) section(s tables.Section) {
	p.heading(s.Heading, "-")
	for _, text := range s.Text {
		p.paragraph("", "", text)
	}
	p.notes(s.Notes)
	for _, t := range s.Tables {
		p.table(t)
	}
	for _, c := range s.Charts {
		p.chart(c)
	}
}

func (p *printer) notes(notes []diag.Note) {
	for _, n := range notes {
		p.paragraph(yellow, n.Severity.String()+": ", n.Error())
	}
}

func (p *printer) table(t tables.Table) {
	p.line("")
	title := t.Title
	if a := axes(t); a != "" {
		title += " (" + a + ")"
	}
	p.paragraph(bold, "", title)
	p.paragraph("", "", t.About)
	for i, block := range p.blocks(t) {
		if i > 0 {
			p.line("")
		}
		p.grid(block)
	}
	if list := explain(t); len(list) > 0 {
		p.paragraph("", "", strings.Join(list, "; ")+".")
	}
	if s := intervals(t); s != "" {
		p.paragraph("", "", s+".")
	}
	p.notes(t.Notes)
}

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
		} else if p.o.ASCII {
			c = ascii(c)
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
		names[r] = rowText(t, r)
	}
	all := []strip{p.strip(heads[0], names, t.Row.Text, most)}
	for c, col := range t.Cols {
		all = append(all, p.strip(heads[c+1], column(t, c), col.Text, most))
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

package export

import (
	"bytes"
	"io"
	"strings"

	"injtab/fit/diag"
	"injtab/tables"
)

// TextOptions say what the terminal can show.
type TextOptions struct {
	Width int  // cells in a line; 0 is 100, the least is 40
	ASCII bool // no character beyond ASCII, for terminals without Unicode
	Color bool // headings bold, warnings yellow; never the only sign of anything

	// Rest is what shows the whole, such as a flag: tables and charts that are aside
	// are left out, and named with it. Empty: nothing is left out.
	Rest string
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
	o     TextOptions
	b     bytes.Buffer
	title string   // of the report
	left  []string // titles of what was left out
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
	p.title = r.Title
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
	p.rest()
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
	ts, cs := p.shown(s)
	if len(s.Text)+len(s.Notes)+len(ts)+len(cs) == 0 {
		return
	}
	if s.Heading != p.title {
		p.heading(s.Heading, "-")
	} else {
		p.line("")
	}
	for _, text := range s.Text {
		p.paragraph("", "", text)
	}
	p.notes(s.Notes)
	above := s.Heading
	for i, t := range ts {
		if i > 0 || len(s.Text)+len(s.Notes) > 0 {
			p.line("")
		}
		p.table(t, above)
		above = t.Title
	}
	for _, c := range cs {
		p.line("")
		p.chart(c, above)
	}
}

// shown parts what a section shows from what is left out.
func (p *printer) shown(s tables.Section) (ts []tables.Table, cs []tables.Chart) {
	for _, t := range s.Tables {
		if p.o.Rest == "" || !t.Aside {
			ts = append(ts, t)
		} else {
			p.left = append(p.left, t.Title)
		}
	}
	for _, c := range s.Charts {
		if p.o.Rest == "" || !c.Aside {
			cs = append(cs, c)
		} else {
			p.left = append(p.left, "chart of "+lower(c.Title))
		}
	}
	return ts, cs
}

// rest names what was left out.
func (p *printer) rest() {
	if len(p.left) > 0 {
		p.line("")
		p.paragraph("", "", p.o.Rest+" shows more: "+strings.Join(p.left, "; ")+".")
	}
}

func (p *printer) notes(notes []diag.Note) {
	for _, n := range notes {
		p.paragraph(yellow, n.Severity.String()+": ", n.Error())
	}
}

// table writes a table, without its title where that stands right above.
func (p *printer) table(t tables.Table, above string) {
	title := t.Title
	if a := axes(t); a != "" {
		title += " (" + a + ")"
	}
	if title != above {
		p.paragraph(bold, "", title)
	}
	p.paragraph("", "", t.About)
	for i, block := range p.blocks(t) {
		if i > 0 {
			p.line("")
		}
		p.grid(block)
	}
	for _, list := range [][]string{explain(t), intervals(t)} {
		if len(list) > 0 {
			p.paragraph("", "", strings.Join(list, "; ")+".")
		}
	}
	p.notes(t.Notes)
}

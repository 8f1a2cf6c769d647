package export

import (
	"bytes"
	"io"
	"strings"

	"github.com/olekukonko/tablewriter"
	"github.com/olekukonko/tablewriter/renderer"
	"github.com/olekukonko/tablewriter/tw"

	"injtab/tables"
)

// Markdown writes what Text writes, with tables that Markdown renderers know.
// Charts are drawn with characters in indented blocks. Nothing in a text of the
// user's becomes markup.
func Markdown(w io.Writer, r tables.Report) error {
	if err := checkReport(r); err != nil {
		return err
	}
	m := &markdown{}
	m.report(r)
	_, err := w.Write(m.b.Bytes())
	return err
}

type markdown struct{ b bytes.Buffer }

// block writes lines and a blank one after them.
func (m *markdown) block(lines ...string) {
	for _, l := range lines {
		m.b.WriteString(strings.TrimRight(l, " ") + "\n")
	}
	if len(lines) > 0 {
		m.b.WriteByte('\n')
	}
}

func (m *markdown) report(r tables.Report) {
	m.block("# " + escaped(r.Title))
	for _, s := range r.Answer {
		m.block("**" + escaped(s) + "**")
	}
	var facts []string
	for _, f := range r.Facts {
		facts = append(facts, "- "+escaped(f.Name)+": "+escaped(f.Value))
	}
	m.block(facts...)
	for _, s := range r.Sections {
		m.section(s)
	}
	m.list("What to do next", r.Next)
	m.list("Cautions", r.Cautions)
}

func (m *markdown) list(title string, items []string) {
	if len(items) == 0 {
		return
	}
	m.block("## " + title)
	var lines []string
	for _, s := range items {
		lines = append(lines, "- "+escaped(s))
	}
	m.block(lines...)
}

func (m *markdown) section(s tables.Section) {
	m.block("## " + escaped(s.Heading))
	for _, text := range s.Text {
		m.block(escaped(text))
	}
	for _, n := range s.Notes {
		m.block("> " + n.Severity.String() + ": " + escaped(n.Error()))
	}
	above := s.Heading
	for _, t := range s.Tables {
		m.table(t, above)
		above = t.Title
	}
	for _, c := range s.Charts {
		m.chart(c)
	}
}

func (m *markdown) table(t tables.Table, above string) {
	if t.Title != above {
		m.block("### " + escaped(t.Title))
	}
	for _, s := range []string{t.About, axes(t)} {
		if s != "" {
			m.block(escaped(s))
		}
	}
	m.grid(t)
	for _, list := range [][]string{explain(t), intervals(t)} {
		if len(list) > 0 {
			m.block(escaped(strings.Join(list, "; ") + "."))
		}
	}
	for _, n := range t.Notes {
		m.block("> " + n.Severity.String() + ": " + escaped(n.Error()))
	}
}

func (m *markdown) grid(t tables.Table) {
	columns := make([][]string, len(t.Cols))
	align := []tw.Align{alignment(t.Row.Text && !flushRight(t.RowText))}
	for c, col := range t.Cols {
		columns[c] = column(t, c)
		align = append(align, alignment(col.Text && !flushRight(columns[c])))
	}
	cell := tw.CellConfig{
		Formatting: tw.CellFormatting{AutoWrap: tw.WrapNone, AutoFormat: tw.Off},
		Alignment:  tw.CellAlignment{PerColumn: align},
	}
	var out bytes.Buffer
	table := tablewriter.NewTable(&out, tablewriter.WithEastAsian(tw.Off),
		tablewriter.WithRenderer(renderer.NewMarkdown()),
		tablewriter.WithConfig(tablewriter.Config{Header: cell, Row: cell, Behavior: tw.Behavior{AutoHide: tw.Off}}))
	table.Header(each(headings(t), escaped))
	for r := range t.Cells {
		row := []string{escaped(rowShown(t, r))}
		for c := range t.Cols {
			row = append(row, escaped(strings.TrimSpace(columns[c][r])))
		}
		table.Append(row) // it fails on streams only
	}
	table.Render() // a buffer takes everything
	m.block(strings.Split(strings.TrimRight(out.String(), "\n"), "\n")...)
}

func alignment(text bool) tw.Align {
	if text {
		return tw.AlignLeft
	}
	return tw.AlignRight
}

// chart draws with characters; indented by four, no text can end the block.
func (m *markdown) chart(c tables.Chart) {
	p := &printer{o: TextOptions{Width: 90}}
	m.block("### " + escaped(c.Title+" ("+scale(c.Y)+" over "+scale(c.X)+")"))
	m.block(each(p.chartLines(c), func(s string) string { return "    " + s })...)
	m.block(escaped(c.Alt))
}

func each(list []string, f func(string) string) []string {
	out := make([]string, len(list))
	for i, s := range list {
		out[i] = f(s)
	}
	return out
}

// escaped makes a text show as itself in Markdown, also at the start of a line.
func escaped(s string) string {
	s = strings.TrimSpace(clean(s))
	list := listMark(s)
	var b strings.Builder
	for i, r := range s {
		if i == list || strings.ContainsRune("\\`*_[]<>|#&~$!", r) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return b.String()
}

// listMark is where a text begins with what would start a list or a rule, such as
// "- ", "1. " or "---"; -1 where it does not.
func listMark(s string) int {
	digits := len(s) - len(strings.TrimLeft(s, "0123456789"))
	marks := "-+="
	if digits > 0 {
		marks = ".)"
	}
	rest := s[digits:]
	if rest == "" || !strings.Contains(marks, rest[:1]) {
		return -1
	}
	if len(rest) > 1 && rest[1] != ' ' && rest[1] != rest[0] {
		return -1
	}
	return digits
}

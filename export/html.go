package export

import (
	"bytes"
	"crypto/sha256"
	_ "embed" // the page's template, style and script
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"strings"
	"sync"

	"injtab/fit/diag"
	"injtab/tables"
)

var (
	//go:embed page.tmpl
	pageTemplate string
	//go:embed page.css
	pageStyle string
	//go:embed page.js
	pageScript string

	// Parsed where a page is made: at the start of every command it would take 2 ms.
	page = sync.OnceValue(func() *template.Template { return template.Must(template.New("page").Parse(pageTemplate)) })
)

// Page writes a report as one HTML file that needs nothing else: no network, no
// script for anything but the copy buttons. It follows the reader's choice of
// light or dark, and prints.
func Page(w io.Writer, r tables.Report) error {
	if err := checkReport(r); err != nil {
		return err
	}
	v, err := newPageView(r)
	if err != nil {
		return err
	}
	var buf bytes.Buffer // so that nothing is written of a page that fails
	if err := page().Execute(&buf, v); err != nil {
		return fmt.Errorf("the page can't be made: %w", err)
	}
	_, err = w.Write(buf.Bytes())
	return err
}

// The views are what the template shows; every text of the user's is clean.
type (
	pageView struct {
		Title, Tool, Policy string
		Style               template.CSS
		Script              template.JS
		Answer              []string
		Facts               []tables.Fact
		Sections            []sectionView
		Next, Cautions      []string
	}
	sectionView struct {
		ID, Heading string
		Text        []string
		Notes       []noteView
		Tables      []tableView
		Charts      []chartView
	}
	noteView  struct{ Kind, Text string }
	chartView struct {
		Title, Alt string
		Known      bool // the title stands right above
		Picture    template.HTML
	}
	tableView struct {
		ID, Title, About, Caption string
		Known                     bool // the title stands right above
		Aside                     bool // folded
		Head                      []headView
		Rows                      []rowView
		Legend                    []markView
		Intervals                 bool
		Notes                     []noteView
	}
	headView struct {
		Shown, Value string
		Text         bool
	}
	rowView struct {
		Head  headView
		Cells []cellView
	}
	cellView struct {
		Shown, Value, Class, Mark, Meaning, Interval string
		Room                                         bool // for a mark that others in the column have
	}
	markView struct{ Mark, Meaning string }
)

func newPageView(r tables.Report) (pageView, error) {
	sum := sha256.Sum256([]byte(pageScript))
	v := pageView{
		Title: clean(r.Title), Tool: Tool + " " + Version, Style: template.CSS(pageStyle), Script: template.JS(pageScript),
		Policy: "default-src 'none'; style-src 'unsafe-inline'; script-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'; base-uri 'none'; form-action 'none'",
		Answer: each(r.Answer, sentence), Next: each(r.Next, sentence), Cautions: each(r.Cautions, sentence),
	}
	for _, f := range r.Facts {
		v.Facts = append(v.Facts, tables.Fact{Name: clean(f.Name), Value: clean(f.Value)})
	}
	ids := idMaker{"answer": true, "contents": true, "next": true, "cautions": true}
	for _, s := range r.Sections {
		view, err := newSectionView(s, ids)
		if err != nil {
			return pageView{}, err
		}
		v.Sections = append(v.Sections, view)
	}
	return v, nil
}

func newSectionView(s tables.Section, ids idMaker) (sectionView, error) {
	v := sectionView{ID: ids.id(s.Name), Heading: clean(s.Heading), Text: each(s.Text, sentence), Notes: noteViews(s.Notes)}
	said := map[string]bool{s.Heading: true}
	for i, t := range s.Tables {
		view := newTableView(t, ids.id("table-"+t.Name))
		view.Known = i == 0 && t.Title == s.Heading
		v.Tables = append(v.Tables, view)
		said[t.About] = true
	}
	for _, c := range s.Charts {
		picture, err := inlineSVG(c, ids.id("chart-"+c.Name))
		if err != nil {
			return sectionView{}, err
		}
		view := chartView{Title: clean(c.Title), Alt: clean(c.Alt), Known: said[c.Title], Picture: template.HTML(picture)}
		if said[c.Alt] {
			view.Alt = ""
		}
		v.Charts = append(v.Charts, view)
	}
	return v, nil
}

// sentence is a text as the page shows it.
func sentence(s string) string { return bound(clean(s)) }

func noteViews(notes []diag.Note) []noteView {
	var list []noteView
	for _, n := range notes {
		kind := n.Severity.String()
		list = append(list, noteView{strings.ToUpper(kind[:1]) + kind[1:], sentence(n.Error())})
	}
	return list
}

func newTableView(t tables.Table, id string) tableView {
	v := tableView{ID: id, Title: clean(t.Title), About: clean(t.About), Caption: clean(axes(t)), Aside: t.Aside, Notes: noteViews(t.Notes)}
	words := wordColumns(t)
	for i, h := range headings(t) {
		head := headView{Shown: clean(h), Value: clean(corner(t)), Text: words[i]}
		if i > 0 {
			head.Value = clean(t.Cols[i-1].Name)
		}
		v.Head = append(v.Head, head)
	}
	forms, plain := cellForms(t), commonMark(t) != ""
	marked := markedColumns(t)
	for r := range t.Cells {
		row := rowView{Head: headView{clean(rowShown(t, r)), clean(textOrNumber(rowText(t, r), t.Row.Text)), words[0]}}
		for c := range t.Cols {
			cell := newCellView(t, r, c, forms[c])
			cell.Room = marked[c] && !plain
			if !words[c+1] && t.Cols[c].Text {
				cell.Class = "number"
			}
			v.Intervals = v.Intervals || cell.Interval != ""
			row.Cells = append(row.Cells, cell)
		}
		v.Rows = append(v.Rows, row)
	}
	for _, s := range explain(t) {
		mark, meaning, _ := strings.Cut(s, " ")
		if strings.HasPrefix(s, "Every value") {
			mark, meaning = "", s
		}
		v.Legend = append(v.Legend, markView{mark, meaning})
	}
	return v
}

// markedColumns tells which columns hold a value with a mark, so that all numbers
// of such a column leave room for one and stand under one another.
func markedColumns(t tables.Table) []bool {
	list := make([]bool, len(t.Cols))
	for _, row := range t.Cells {
		for c, cell := range row {
			if !t.Cols[c].Text && cell.Status.HasValue() && mark(cell) != "" {
				list[c] = true
			}
		}
	}
	return list
}

// wordColumns tells which columns hold words, the first column among them; the others
// hold numbers and are set flush right.
func wordColumns(t tables.Table) []bool {
	list := []bool{t.Row.Text && !flushRight(t.RowText)}
	for c, col := range t.Cols {
		list = append(list, col.Text && !flushRight(column(t, c)))
	}
	return list
}

// cellForms are how the cells of each column are set.
func cellForms(t tables.Table) []cellForm {
	list := make([]cellForm, len(t.Cols))
	for c, col := range t.Cols {
		list[c] = cellForm{col: col, digits: digitsShown(t, c), plain: commonMark(t) != ""}
	}
	return list
}

func newCellView(t tables.Table, r, c int, f cellForm) cellView {
	cell, col := t.Cells[r][c], t.Cols[c]
	text := cellText(t, r, c)
	if col.Text {
		return cellView{Shown: clean(text), Value: clean(guard(text)), Class: "text"}
	}
	if !cell.Status.HasValue() {
		return cellView{Shown: emptyText(cell.Status), Class: "empty"}
	}
	v := cellView{Shown: number(cell.Value, f.digits), Value: text, Class: cell.Basis.String(), Mark: f.markOf(cell), Interval: halfShown(cell, col, f.digits)}
	if f.plain {
		v.Class = "number"
	}
	if cell.Status == diag.Unreliable {
		v.Class += " unreliable"
	}
	v.Meaning = strings.Join(meanings(cell), "; ")
	return v
}

// meanings explain the marks of one cell.
func meanings(cell tables.Cell) []string {
	var list []string
	for _, m := range legend {
		if m[0] == marks[cell.Basis] || m[0] == unreliableMark && cell.Status == diag.Unreliable {
			list = append(list, m[1])
		}
	}
	return list
}

// An idMaker makes anchors of letters, digits and hyphens that stand once a page.
type idMaker map[string]bool

func (ids idMaker) id(name string) string {
	base := strings.Trim(strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' {
			return r
		}
		return '-'
	}, strings.ToLower(cut(name, 40))), "-")
	if base == "" {
		base = "part"
	}
	id := base
	for n := 2; ids[id]; n++ {
		id = fmt.Sprintf("%s-%d", base, n)
	}
	ids[id] = true
	return id
}

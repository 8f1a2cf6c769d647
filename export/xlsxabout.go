package export

import (
	"strings"

	"github.com/xuri/excelize/v2"

	"injtab/tables"
)

// A sheetLink is one line of the list of sheets.
type sheetLink struct{ sheet, title, about string }

// about fills the first sheet: the answer, what it rests on, what to mind, what
// the other sheets are.
func (b *book) about(r tables.Report, list []sheetLink) {
	w := &aboutWriter{b: b, row: 1}
	b.widths(aboutSheet, 24, 105)
	b.text(aboutSheet, 1, 1, r.Title, b.titleStyle())
	w.row = 3
	for _, s := range r.Answer {
		w.pair("", s, b.boldStyle())
	}
	w.heading("What this rests on", len(r.Facts))
	for _, f := range r.Facts {
		w.pair(f.Name, f.Value, b.plainStyle())
	}
	w.notes(r)
	w.heading("Sheets", len(list))
	for _, l := range list {
		w.link(l)
	}
	w.list("What to do next", r.Next)
	w.list("Cautions", r.Cautions)
	no := false
	b.try(b.f.SetSheetView(aboutSheet, 0, &excelize.ViewOptions{ShowGridLines: &no}))
	b.page(aboutSheet, r.Title, paper{whole: w.row <= pageRows, tall: true})
}

type aboutWriter struct {
	b   *book
	row int
}

func (w *aboutWriter) heading(s string, items int) {
	if items == 0 {
		return
	}
	w.row++
	w.b.text(aboutSheet, 1, w.row, s, w.b.made("section", excelize.Style{
		Font: &excelize.Font{Bold: true, Size: 12, Color: ink}, Border: []excelize.Border{{Type: "bottom", Style: 1, Color: grey}},
	}))
	w.b.style(aboutSheet, 2, w.row, w.b.made("rule", excelize.Style{Border: []excelize.Border{{Type: "bottom", Style: 1, Color: grey}}}))
	w.row++
}

// pair writes a name and its text; without a name the text has both columns.
func (w *aboutWriter) pair(name, text string, style int) {
	col, wide := 2, 118
	if name == "" {
		col, wide = 1, 142
		w.b.merge(aboutSheet, w.row, 1, 2)
	} else {
		w.b.text(aboutSheet, 1, w.row, name, w.b.plainStyle())
	}
	w.b.text(aboutSheet, col, w.row, text, style)
	lines := len(wrap(clean(text), wide))
	w.b.rowHeight(aboutSheet, w.row, min(float64(15*max(lines, 1)+5), 400))
	w.row++
}

func (w *aboutWriter) list(title string, items []string) {
	w.heading(title, len(items))
	for _, s := range items {
		w.pair("", s, w.b.plainStyle())
	}
}

// notes gathers the texts and warnings of all sections, each under its heading.
func (w *aboutWriter) notes(r tables.Report) {
	for _, s := range r.Sections {
		list := append([]string{}, s.Text...)
		for _, n := range s.Notes {
			list = append(list, n.Severity.String()+": "+n.Error())
		}
		for _, t := range s.Tables {
			for _, n := range t.Notes {
				list = append(list, n.Severity.String()+" ("+t.Title+"): "+n.Error())
			}
		}
		w.list(s.Heading, list)
	}
}

func (w *aboutWriter) link(l sheetLink) {
	row := w.row
	w.pair(l.sheet, strings.TrimSpace(l.title+". "+l.about), w.b.plainStyle())
	w.b.try(w.b.f.SetCellHyperLink(aboutSheet, at(1, row), quoted(l.sheet)+"!A1", "Location"))
	w.b.style(aboutSheet, 1, row, w.b.linkStyle())
}

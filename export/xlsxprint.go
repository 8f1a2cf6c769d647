package export

import (
	"fmt"
	"math"
	"strings"

	"github.com/xuri/excelize/v2"
)

// What is legible on one page, landscape: rows, and characters in a row.
const pageRows, pageWide = 60, 150.0

// A paper says how a sheet is printed; the zero value is all of it, one page wide.
type paper struct {
	areas []string
	wide  int  // pages side by side; 0 is 1
	whole bool // all on one page
	names bool // the first column is repeated
	tall  bool // portrait
	heads int  // the row repeated on every page; 0: those of the table
}

// tablePaper prints a table with all that stands beside it on one page where that
// is legible; else the values with texts and chart, whose looks say what they rest
// on; of a table wider than a page the values over several. left is the last column
// of the values, bottom the last row of all.
func tablePaper(sheet string, widths []float64, left, last, bottom int) paper {
	right, _ := spread(widths, chartChars)
	values := total(widths[:left])
	switch {
	case total(widths) <= pageWide:
		return paper{areas: []string{area(sheet, 1, 1, max(len(widths), right), bottom)}, whole: bottom <= pageRows}
	case values > pageWide:
		// Texts and chart apart, or every page would repeat their first column.
		return paper{areas: []string{area(sheet, 1, 1, left, last), area(sheet, 1, last+1, right, bottom)}, wide: int(math.Ceil(values / pageWide)), names: true}
	}
	return paper{areas: []string{area(sheet, 1, 1, left+1, bottom)}, whole: bottom <= pageRows}
}

func total(widths []float64) float64 {
	sum := 0.0
	for _, w := range widths {
		sum += w
	}
	return sum
}

// page sets up printing: headers repeated on every page, header and footer; one page
// high where that leaves it legible, so that no chart is cut.
func (b *book) page(sheet, report string, p paper) {
	orientation, a4, wide, high := "landscape", 9, max(p.wide, 1), 0
	if p.whole {
		high = 1
	}
	if p.tall {
		orientation = "portrait"
	}
	b.try(b.f.SetPageLayout(sheet, &excelize.PageLayoutOptions{Orientation: &orientation, Size: &a4, FitToWidth: &wide, FitToHeight: &high}))
	yes := true
	b.try(b.f.SetSheetProps(sheet, &excelize.SheetPropsOptions{FitToPage: &yes}))
	title := strings.ReplaceAll(limit(report), "&", "&&")
	b.try(b.f.SetHeaderFooter(sheet, &excelize.HeaderFooterOptions{
		OddHeader: "&L" + title + "&R&A", OddFooter: "&L" + Tool + " " + Version + "&RPage &P of &N",
	}))
	if len(p.areas) == 0 {
		return
	}
	b.try(b.f.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Area", RefersTo: strings.Join(p.areas, ","), Scope: sheet}))
	titles := fmt.Sprintf("%s!$%d:$%d", quoted(sheet), titleRow, headRow)
	switch {
	case p.heads > 0:
		titles = fmt.Sprintf("%[1]s!$A:$A,%[1]s!$%[2]d:$%[2]d", quoted(sheet), p.heads)
	case p.names:
		titles = fmt.Sprintf("%[1]s!$A:$A,%[1]s!$%[2]d:$%[2]d", quoted(sheet), headRow)
	}
	b.try(b.f.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", RefersTo: titles, Scope: sheet}))
}

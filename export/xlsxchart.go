package export

import (
	"github.com/xuri/excelize/v2"

	"injtab/tables"
)

// mostSeries is what a chart shows at once; of more, evenly spread ones.
const mostSeries = 8

// Colours that differ in lightness too, with dashes and markers in step, so that
// a black and white print still tells the series apart.
var (
	inks    = []string{"1F3B57", "C8761B", "2E7D6B", "8A5AA0", "8A6D00", "4F7CAC", "A23B4A", "5E5E5E"}
	dashes  = []excelize.LineDashType{excelize.LineDashSolid, excelize.LineDashDash, excelize.LineDashDot, excelize.LineDashLgDashDot}
	markers = []string{"circle", "square", "triangle", "diamond", "x", "plus", "star", "dash"}
)

// tableChart draws a table: curves over numeric rows, bars over names. It tells
// whether there was anything to draw.
func (b *book) tableChart(sheet string, t tables.Table, row int) bool {
	columns := charted(t)
	if len(columns) == 0 || len(t.Cells) == 0 {
		return false
	}
	names, last := 1, firstRow+len(t.Cells)-1
	chart := excelize.Chart{
		Type: excelize.Scatter, ShowBlanksAs: "gap",
		Title:     excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: limit(chartTitle(t)), Font: chartFont(13)}}},
		Legend:    excelize.ChartLegend{Position: "right", Font: chartFont(10)},
		Dimension: excelize.ChartDimension{Width: chartWide, Height: chartHigh},
		XAxis:     chartAxis(heading(t.Row)), YAxis: chartAxis(ordinate(t, columns)),
		Format: excelize.GraphicOptions{AltText: limit(t.Title + ". " + t.About), Name: limit(t.Title), OffsetX: 4, OffsetY: 4},
	}
	if t.Row.Text {
		chart.Type, chart.GapWidth = excelize.Col, new(uint(60))
		names = labelColumn(t)
		chart.XAxis = chartAxis(labelTitle(t, names))
		chart.XAxis.TickLabelPosition = excelize.ChartTickLabelLow
		chart.XAxis.MajorGridLines = false
	} else if len(t.RowAt) > 1 {
		lo, hi := t.RowAt[0], t.RowAt[len(t.RowAt)-1]
		chart.XAxis.Minimum, chart.XAxis.Maximum = &lo, &hi
	}
	for n, c := range columns {
		s := chartSeries(n, t.Row.Text)
		s.Name = cellRef(sheet, c+2, headRow)
		s.Categories = area(sheet, names, firstRow, names, last)
		s.Values = area(sheet, c+2, firstRow, c+2, last)
		chart.Series = append(chart.Series, s)
	}
	if len(columns) == 1 {
		chart.Legend.Position = "none"
	}
	b.try(b.f.AddChart(sheet, at(1, row), &chart))
	return true
}

// chartTitle says what tells the lines of a grid apart.
func chartTitle(t tables.Table) string {
	if t.Grid() {
		return t.Title + " by " + heading(t.Across)
	}
	return t.Title
}

// charted are the columns that share the first number's unit.
func charted(t tables.Table) []int {
	var list []int
	for c, col := range t.Cols {
		if !col.Text && (len(list) == 0 || col.Unit == t.Cols[list[0]].Unit) && hasValue(t, c) {
			list = append(list, c)
		}
	}
	if len(list) <= mostSeries {
		return list
	}
	some := make([]int, mostSeries)
	for i := range some {
		some[i] = list[i*(len(list)-1)/(mostSeries-1)]
	}
	return some
}

func hasValue(t tables.Table, c int) bool {
	for _, row := range t.Cells {
		if row[c].Status.HasValue() {
			return true
		}
	}
	return false
}

// labelColumn is the column of the sheet whose texts name every row.
func labelColumn(t tables.Table) int {
	if namesAll(t.RowText) {
		return 1
	}
	for c, col := range t.Cols {
		if col.Text && namesAll(column(t, c)) {
			return c + 2
		}
	}
	return 1
}

func labelTitle(t tables.Table, names int) string {
	if names == 1 {
		return heading(t.Row)
	}
	return heading(t.Cols[names-2])
}

func namesAll(list []string) bool {
	seen := map[string]bool{"": true}
	for _, s := range list {
		if seen[s] {
			return false
		}
		seen[s] = true
	}
	return true
}

// ordinate is the title of the upright axis.
func ordinate(t tables.Table, columns []int) string {
	c := t.Cols[columns[0]]
	if t.Grid() || len(columns) > 1 {
		c.Title = t.Title
	}
	return limit(heading(c))
}

func chartFont(size float64) *excelize.Font {
	return &excelize.Font{Size: size, Color: ink, Family: family}
}

func chartAxis(title string) excelize.ChartAxis {
	return excelize.ChartAxis{
		MajorGridLines: true, Font: *chartFont(10), NumFmt: excelize.ChartNumFmt{CustomNumFmt: "General"},
		Title: excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: limit(title), Font: chartFont(10)}}},
	}
}

func chartSeries(n int, bars bool) excelize.ChartSeries {
	color := excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{inks[n%len(inks)]}}
	s := excelize.ChartSeries{Fill: color}
	if bars {
		return s
	}
	s.Line = excelize.LineOptions{Type: excelize.LineSolid, Fill: color, Width: 1.75, Dash: dashes[n%len(dashes)]}
	s.Marker = excelize.ChartMarker{Symbol: markers[n%len(markers)], Size: 7, Fill: color}
	return s
}

func cellRef(sheet string, col, row int) string {
	name, _ := excelize.CoordinatesToCellName(col, row, true) // columns and rows are ours
	return quoted(sheet) + "!" + name
}

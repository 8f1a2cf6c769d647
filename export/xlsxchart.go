package export

import (
	"math"

	"github.com/xuri/excelize/v2"

	"injtab/tables"
)

// What a chart shows at once, lines and bars beside each other; of more, evenly spread
// ones.
const mostSeries, mostBars = 8, 3

// Colours that differ in lightness too, with dashes and markers in step, so that
// a black and white print still tells the series apart.
var (
	inks    = []string{"1F3B57", "C8761B", "2E7D6B", "8A5AA0", "8A6D00", "4F7CAC", "A23B4A", "5E5E5E"}
	dashes  = []excelize.LineDashType{excelize.LineDashSolid, excelize.LineDashDash, excelize.LineDashDot, excelize.LineDashLgDashDot}
	markers = []string{"circle", "square", "triangle", "diamond", "x", "plus", "star", "dash"}
)

// tableChart draws a table below it and tells whether there was anything to draw:
// curves where its rows or, failing that, its columns are breakpoints, else bars.
func (b *book) tableChart(sheet string, t tables.Table, row int) bool {
	columns := charted(t)
	if len(columns) == 0 || len(t.Cells) < 2 {
		return false
	}
	chart := excelize.Chart{
		Type: excelize.Scatter, ShowBlanksAs: "gap",
		Title:     excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: limit(chartTitle(t)), Font: chartFont(13)}}},
		Legend:    excelize.ChartLegend{Position: "right", Font: chartFont(10)},
		Dimension: excelize.ChartDimension{Width: chartWide, Height: chartHigh},
		YAxis:     chartAxis(ordinate(t, columns)),
		Format:    excelize.GraphicOptions{AltText: limit(t.Title + ". " + t.About), Name: limit(t.Title), OffsetX: 4, OffsetY: 4},
	}
	switch {
	case !t.Row.Text:
		curvesDown(&chart, sheet, t, columns)
	case t.Grid() && len(t.Cols) > 2:
		curvesAcross(&chart, sheet, t)
	default:
		columns = some(columns, mostBars)
		barsOver(&chart, sheet, t, columns)
	}
	if len(chart.Series) == 1 {
		chart.Legend.Position = "none"
	}
	b.try(b.f.AddChart(sheet, at(1, row), &chart))
	return true
}

// curvesDown draws a curve for each column over the breakpoints of the rows.
func curvesDown(chart *excelize.Chart, sheet string, t tables.Table, columns []int) {
	chart.XAxis = abscissa(heading(t.Row), t.RowAt)
	last := firstRow + len(t.Cells) - 1
	for n, c := range columns {
		s := curveSeries(n)
		s.Name = cellRef(sheet, c+2, headRow)
		s.Categories = area(sheet, 1, firstRow, 1, last)
		s.Values = area(sheet, c+2, firstRow, c+2, last)
		chart.Series = append(chart.Series, s)
	}
}

// curvesAcross draws a curve for each named row over the breakpoints of the header.
func curvesAcross(chart *excelize.Chart, sheet string, t tables.Table) {
	points := make([]float64, len(t.Cols))
	for c, col := range t.Cols {
		points[c] = col.At
	}
	chart.XAxis = abscissa(heading(t.Across), points)
	rows := make([]int, len(t.Cells))
	for r := range rows {
		rows[r] = firstRow + r
	}
	for n, r := range some(rows, mostSeries) {
		s := curveSeries(n)
		s.Name = cellRef(sheet, 1, r)
		s.Categories = area(sheet, 2, headRow, len(t.Cols)+1, headRow)
		s.Values = area(sheet, 2, r, len(t.Cols)+1, r)
		chart.Series = append(chart.Series, s)
	}
}

// barsOver draws a bar for each column over the names of the rows, from zero.
func barsOver(chart *excelize.Chart, sheet string, t tables.Table, columns []int) {
	names, last := labelColumn(t), firstRow+len(t.Cells)-1
	chart.Type, chart.GapWidth = excelize.Col, new(uint(60))
	chart.XAxis = chartAxis(labelTitle(t, names))
	chart.XAxis.MajorGridLines = false
	for n, c := range columns {
		chart.Series = append(chart.Series, excelize.ChartSeries{
			Fill: solid(barInks[n]), Name: cellRef(sheet, c+2, headRow),
			Categories: area(sheet, names, firstRow, names, last), Values: area(sheet, c+2, firstRow, c+2, last),
		})
	}
	least, most, cut := heights(t, columns)
	switch {
	case cut:
		chart.YAxis.Minimum, chart.YAxis.Maximum = &least, &most
		title := chart.Title.Paragraph[0].Text
		chart.Title.Paragraph[0].Text = title + " (a bar that reaches the edge goes on)"
	case least >= 0:
		chart.YAxis.Minimum = new(float64)
	}
}

// abscissa is a level axis that ends at round numbers.
func abscissa(title string, points []float64) excelize.ChartAxis {
	axis := chartAxis(title)
	lo, hi := points[0], points[len(points)-1]
	if lo < hi {
		step := roundUp((hi - lo) / 8)
		lo, hi = math.Floor(lo/step+1e-9)*step, math.Ceil(hi/step-1e-9)*step
		axis.Minimum, axis.Maximum, axis.MajorUnit = &lo, &hi, step
	}
	return axis
}

// chartTitle says what tells the lines of a grid apart.
func chartTitle(t tables.Table) string {
	switch {
	case t.Grid() && t.Row.Text:
		return t.Title + " (lines: " + lower(heading(t.Row)) + ")"
	case t.Grid():
		return t.Title + " (lines: " + lower(heading(t.Across)) + ")"
	}
	return t.Title
}

// charted are the columns that share the first number's unit, if it has one; of too
// many, the fullest.
func charted(t tables.Table) []int {
	var list, fullest []int
	most := 0
	for c, col := range t.Cols {
		n := values(t, c)
		if col.Text || n == 0 || col.Unit == "" || len(list) > 0 && col.Unit != t.Cols[list[0]].Unit {
			continue
		}
		list = append(list, c)
		if n > most {
			most, fullest = n, nil
		}
		if n == most {
			fullest = append(fullest, c)
		}
	}
	if len(list) > mostSeries {
		list = fullest
	}
	return some(list, mostSeries)
}

// some takes n evenly spread ones of a list that is longer.
func some(list []int, n int) []int {
	if len(list) <= n {
		return list
	}
	out := make([]int, n)
	for i := range out {
		out[i] = list[i*(len(list)-1)/(n-1)]
	}
	return out
}

// values counts the values of a column.
func values(t tables.Table, c int) int {
	n := 0
	for _, row := range t.Cells {
		if row[c].Status.HasValue() {
			n++
		}
	}
	return n
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
		MajorGridLines: true, TickLabelPosition: excelize.ChartTickLabelLow, Font: *chartFont(10), NumFmt: excelize.ChartNumFmt{CustomNumFmt: "General"},
		Title: excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: limit(title), Font: chartFont(10)}}},
	}
}

func inkFill(n int) excelize.Fill { return solid(inks[n%len(inks)]) }

// barInks lie far apart in lightness, as bars have no dashes.
var barInks = [mostBars]string{"1F3B57", "2E8B74", "F0C27B"}

func curveSeries(n int) excelize.ChartSeries {
	fill := inkFill(n)
	return excelize.ChartSeries{
		Fill:   fill,
		Line:   excelize.LineOptions{Type: excelize.LineSolid, Fill: fill, Width: 1.75, Dash: dashes[n%len(dashes)]},
		Marker: excelize.ChartMarker{Symbol: markers[n%len(markers)], Size: 7, Fill: fill},
	}
}

func cellRef(sheet string, col, row int) string {
	name, _ := excelize.CoordinatesToCellName(col, row, true) // columns and rows are ours
	return quoted(sheet) + "!" + name
}

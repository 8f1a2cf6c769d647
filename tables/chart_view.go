package tables

// mostIntervals is of how many lines one picture shows the intervals.
const mostIntervals = 3

// mostLines is how many lines one picture of a grid holds.
const mostLines = 8

// ChartOf draws a table: a list as a line or, by injector, as bars; a grid as one
// line for each column. ok is false for tables that make no picture.
func ChartOf(t Table) (Chart, bool) {
	c := Chart{Name: t.Name, Title: t.Title, Alt: t.About, X: Scale{t.Row.Title, t.Row.Unit}}
	switch {
	case t.Name == "trims":
		return trimChart(t, c), true
	case t.Row.Text && t.Grid():
		turned(t, &c)
	case t.Row.Text || len(t.Cells) == 0:
		return Chart{}, false
	case t.Grid():
		c.Y = Scale{t.Title, t.Cols[0].Unit}
		for _, j := range thinned(len(t.Cols)) {
			c.Series = append(c.Series, columnSeries(t, j, t.Cols[j].At, t.Across.Unit))
		}
	default:
		c.Y = Scale{t.Cols[0].Title, t.Cols[0].Unit}
		s := columnSeries(t, 0, 0, "")
		s.Name = t.Cols[0].Title
		c.Series = []Series{s}
	}
	return c, true
}

// columnSeries is one column of a table over its rows.
func columnSeries(t Table, column int, at float64, unit string) Series {
	s := Series{Name: number(at) + " " + unit, Kind: Line}
	for r, row := range t.Cells {
		if cell := row[column]; cell.Status.HasValue() {
			s.X, s.Y = append(s.X, t.RowAt[r]), append(s.Y, cell.Value)
			s.Lo, s.Hi = append(s.Lo, cell.Value-cell.CI95), append(s.Hi, cell.Value+cell.CI95)
		}
	}
	if t.Grid() && len(t.Cols) > mostIntervals {
		s.Lo, s.Hi = nil, nil // the table has them; here they would hide the lines
	}
	return s
}

// turned draws a grid whose rows are injectors: a line for each over the columns.
func turned(t Table, c *Chart) {
	c.X, c.Y = Scale{t.Across.Title, t.Across.Unit}, Scale{t.Title, t.Cols[0].Unit}
	for _, r := range thinned(len(t.Cells)) {
		s := Series{Name: t.RowText[r], Kind: Line}
		for j, cell := range t.Cells[r] {
			if cell.Status.HasValue() {
				s.X, s.Y = append(s.X, t.Cols[j].At), append(s.Y, cell.Value)
			}
		}
		c.Series = append(c.Series, s)
	}
}

// trimChart shows the percentages of the trims by injector.
func trimChart(t Table, c Chart) Chart {
	c.X, c.Y = Scale{Title: "Injector"}, Scale{"Trim", "%"}
	for _, row := range t.Cells {
		c.Categories = append(c.Categories, row[0].Text)
	}
	for j, col := range t.Cols {
		if col.Name != "flow_only_trim_pct" && col.Name != "flow_trim_pct" {
			continue
		}
		s := Series{Name: col.Title, Kind: Bars}
		if col.Name == "flow_trim_pct" {
			s.Name += " with added time"
		}
		for r, row := range t.Cells {
			s.X, s.Y = append(s.X, float64(r)), append(s.Y, row[j].Value)
			s.Lo, s.Hi = append(s.Lo, row[j].Value-row[j].CI95), append(s.Hi, row[j].Value+row[j].CI95)
		}
		c.Series = append(c.Series, s)
	}
	return farthest(c)
}

// thinned picks at most mostLines indexes of n, evenly, both ends among them.
func thinned(n int) []int {
	if n <= mostLines {
		mostOf := make([]int, n)
		for i := range mostOf {
			mostOf[i] = i
		}
		return mostOf
	}
	out := make([]int, mostLines)
	for i := range out {
		out[i] = i * (n - 1) / (mostLines - 1)
	}
	return out
}

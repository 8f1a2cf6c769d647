package export

import (
	"fmt"
	"math"
	"strings"
	"unicode"
	"unicode/utf8"

	"injtab/tables"
)

// A pen is the set of characters that charts are drawn with.
type pen struct {
	points         []string // one for each series in turn
	trail          string   // between the points of a line
	bar            string
	axis, limit    string // upright
	floor, ceiling string // level
	tick           string // on the floor
}

// point is the mark of a series.
func (p pen) point(n int) string { return p.points[n%len(p.points)] }

var (
	unicodePen = pen{[]string{"●", "○", "▲", "△", "■", "□", "◆", "◇"}, "·", "█", "│", "┊", "─", "╌", "┴"}
	asciiPen   = pen{[]string{"o", "x", "*", "#", "@", "%", "&", "="}, ".", "#", "|", ":", "-", "-", "+"}
)

// chart draws a chart with characters, no wider than the text; without its title
// where that stands right above.
func (p *printer) chart(c tables.Chart, above string) {
	title := c.Title
	if title == above {
		title = "Chart"
	}
	if len(c.Categories) == 0 {
		title += fmt.Sprintf(" (up: %s; across: %s)", scale(c.Y), scale(c.X))
	} else if c.Y.Unit != "" {
		title += ", " + c.Y.Unit
	}
	p.paragraph(bold, "", title)
	for _, l := range p.chartLines(c) {
		p.line(l)
	}
	p.paragraph("", "", c.Alt)
}

func (p *printer) pen() pen {
	if p.o.ASCII {
		return asciiPen
	}
	return unicodePen
}

func (p *printer) chartLines(c tables.Chart) []string {
	e, ok := extent(c)
	if !ok {
		return []string{"(no points)"}
	}
	switch {
	case len(c.Categories) > 0 && len(c.Series) == 1 && c.Series[0].Kind == tables.Bars:
		return p.bars(c, e)
	case len(c.Categories) > 0:
		return p.dots(c, e)
	}
	return p.plane(c, e)
}

// bars draws a level bar for each category from the zero line.
func (p *printer) bars(c tables.Chart, e box) []string {
	labels, names := p.labels(c)
	f := newLevel(max(p.o.Width-names-14, 10), e)
	values := p.values(c)
	var lines []string
	for i := range c.Categories {
		y, ok := valueAt(c.Series[0], i)
		if !ok {
			lines = append(lines, labels[i])
			continue
		}
		lines = append(lines, labels[i]+" "+strings.Join(p.bar(f, y, c.Marks), "")+" "+values[i])
	}
	return append(lines, p.key(c)...)
}

// dots puts a mark for each value of each series on a line for each category.
func (p *printer) dots(c tables.Chart, e box) []string {
	labels, names := p.labels(c)
	values := p.values(c)
	room := 0
	for _, v := range values {
		room = max(room, cellsWide(v))
	}
	f := newLevel(max(p.o.Width-names-room-3, 10), e)
	var lines []string
	for i := range c.Categories {
		row := strings.Split(strings.Repeat(" ", f.wide), "")
		for _, m := range c.Marks {
			if !m.Vertical {
				row[f.at(m.At)] = p.pen().limit
			}
		}
		row[f.at(0)] = p.pen().axis
		for n := len(c.Series) - 1; n >= 0; n-- { // the first on top
			for _, y := range valuesAt(c.Series[n], i) {
				row[f.at(y)] = p.pen().point(n)
			}
		}
		lines = append(lines, labels[i]+" "+strings.Join(row, "")+"  "+values[i])
	}
	return append(lines, p.key(c)...)
}

// labels are the categories, all of one width.
func (p *printer) labels(c tables.Chart) (labels []string, wide int) {
	labels = make([]string, len(c.Categories))
	for i, name := range c.Categories {
		labels[i] = p.name(name, min(mostName, p.o.Width/4))
		wide = max(wide, cellsWide(labels[i]))
	}
	for i := range labels {
		labels[i] = fill(labels[i], wide)
	}
	return labels, wide
}

// values are the numbers beside the categories, those of all series side by side and
// set under one another; none where a category has several values of one series.
func (p *printer) values(c tables.Chart) []string {
	list := make([]string, len(c.Categories))
	digits := digitsFor(c)
	for n, s := range c.Series {
		texts, wide := make([]string, len(list)), 0
		for i := range list {
			switch ys := valuesAt(s, i); len(ys) {
			case 0:
				texts[i] = "-"
			case 1:
				texts[i] = number(ys[0], digits)
			default:
				return make([]string, len(list))
			}
			wide = max(wide, len(texts[i]))
		}
		key := ""
		if len(c.Series) > 1 {
			key = p.pen().point(n) + " "
		}
		for i := range list {
			list[i] += fmt.Sprintf("%s%*s  ", key, wide, texts[i])
		}
	}
	for i := range list {
		list[i] = strings.TrimRight(list[i], " ")
	}
	return list
}

// digitsFor is how many digits after the point leave three to the largest value.
func digitsFor(c tables.Chart) int {
	most := 0.0
	for _, s := range c.Series {
		for _, y := range s.Y {
			most = max(most, math.Abs(y))
		}
	}
	if most <= 0 {
		return 0
	}
	return min(max(2-int(math.Floor(math.Log10(most))), 0), 6)
}

// A level is a line of characters from one value to another.
type level struct {
	wide   int
	lo, hi float64
}

func newLevel(wide int, e box) level {
	return level{wide, min(e.y0, 0), max(e.y1, 0)}
}

func (f level) at(y float64) int { return place(y, f.lo, f.hi, f.wide) }

func (p *printer) bar(f level, y float64, marks []tables.Mark) []string {
	row := strings.Split(strings.Repeat(" ", f.wide), "")
	for _, m := range marks {
		if !m.Vertical {
			row[f.at(m.At)] = p.pen().limit
		}
	}
	for i := min(f.at(0), f.at(y)); i <= max(f.at(0), f.at(y)); i++ {
		row[i] = p.pen().bar
	}
	row[f.at(0)] = p.pen().axis
	return row
}

// valueAt is the value of a series for a category that has one at most.
func valueAt(s tables.Series, category int) (float64, bool) {
	if ys := valuesAt(s, category); len(ys) > 0 {
		return ys[0], true
	}
	return 0, false
}

// valuesAt are the values of a series for a category.
func valuesAt(s tables.Series, category int) (ys []float64) {
	for i, x := range s.X {
		if int(math.Round(x)) == category && i < len(s.Y) {
			ys = append(ys, s.Y[i])
		}
	}
	return ys
}

// plane draws lines and points as a field of characters.
func (p *printer) plane(c tables.Chart, e box) []string {
	const high, left = 15, 9
	f := newSketch(min(p.o.Width-left-2, 76), high, rounded(e))
	for _, m := range c.Marks {
		if m.Vertical {
			f.upright(m.At, p.pen().limit)
		} else {
			f.level(m.At, p.pen().ceiling)
		}
	}
	for _, s := range c.Series {
		if s.Kind == tables.Line {
			f.trail(s.X, s.Y, p.pen().trail)
		}
	}
	for n, s := range c.Series {
		for i := range s.Y {
			f.put(s.X[i], s.Y[i], p.pen().point(n))
		}
	}
	return append(f.framed(left, p.pen()), p.key(c)...)
}

// key says what the characters and axes mean.
func (p *printer) key(c tables.Chart) []string {
	var parts []string
	for n, s := range c.Series {
		if s.Kind != tables.Band && (len(c.Series) > 1 || s.Kind != tables.Bars) {
			parts = append(parts, p.pen().point(n)+" "+p.name(s.Name, mostName))
		}
	}
	for _, m := range c.Marks {
		sign := p.pen().ceiling
		if m.Vertical || len(c.Categories) > 0 {
			sign = p.pen().limit
		}
		parts = append(parts, sign+" "+p.name(m.Name, mostName))
	}
	return wrap(strings.Join(parts, "; "), p.o.Width)
}

// scale is an axis title with its unit.
func scale(s tables.Scale) string {
	if s.Unit == "" {
		return s.Title
	}
	return s.Title + ", " + s.Unit
}

// lower is a title inside a sentence.
func lower(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	if second, _ := utf8.DecodeRuneInString(s[n:]); unicode.IsUpper(second) {
		return s
	}
	return string(unicode.ToLower(first)) + s[n:]
}

func unitAfter(s tables.Scale) string {
	if s.Unit == "" {
		return ""
	}
	return " " + s.Unit
}

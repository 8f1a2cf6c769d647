package export

import (
	"math"
	"strings"

	"injtab/tables"
)

// A pen is the set of characters that charts are drawn with.
type pen struct {
	points         []string // one for each series in turn
	trail          string   // between the points of a line
	bar            string
	axis, limit    string // upright
	floor, ceiling string // level
}

var (
	unicodePen = pen{[]string{"●", "○", "▲", "△", "■", "□", "◆", "◇"}, "·", "█", "│", "┊", "─", "╌"}
	asciiPen   = pen{[]string{"o", "x", "*", "#", "@", "%", "&", "="}, ".", "#", "|", ":", "-", "-"}
)

// chart draws a chart with characters, no wider than the text.
func (p *printer) chart(c tables.Chart) {
	p.line("")
	p.paragraph(bold, "", c.Title+" ("+scale(c.Y)+" over "+scale(c.X)+")")
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
	if len(c.Categories) > 0 {
		return p.bars(c, e)
	}
	return p.plane(c, e)
}

// bars draws a level bar for each category and series from the zero line.
func (p *printer) bars(c tables.Chart, e box) []string {
	names := 0
	labels := make([]string, len(c.Categories))
	for i, name := range c.Categories {
		labels[i] = p.name(name, min(mostName, p.o.Width/4))
		names = max(names, cellsWide(labels[i]))
	}
	wide := max(p.o.Width-names-14-3*min(len(c.Series)-1, 1), 10)
	at := func(y float64) int { return int(math.Round((y - e.y0) / (e.y1 - e.y0) * float64(wide-1))) }
	var lines []string
	for i := range c.Categories {
		name := labels[i]
		for n, s := range c.Series {
			y, ok := valueAt(s, i)
			if !ok {
				continue
			}
			row := p.bar(wide, at(0), at(y), c.Marks, at)
			key := ""
			if len(c.Series) > 1 {
				key = p.pen().points[n%len(p.pen().points)] + " "
			}
			lines = append(lines, fill(name, names)+" "+key+strings.Join(row, "")+" "+compact(y)+unitAfter(c.Y))
			name = ""
		}
	}
	return append(lines, p.key(c)...)
}

func (p *printer) bar(wide, zero, end int, marks []tables.Mark, at func(float64) int) []string {
	row := strings.Split(strings.Repeat(" ", wide), "")
	for _, m := range marks {
		if !m.Vertical {
			row[at(m.At)] = p.pen().limit
		}
	}
	for i := min(zero, end); i <= max(zero, end); i++ {
		row[i] = p.pen().bar
	}
	row[zero] = p.pen().axis
	return row
}

// valueAt finds the value of a series for a category.
func valueAt(s tables.Series, category int) (float64, bool) {
	for i, x := range s.X {
		if int(math.Round(x)) == category && i < len(s.Y) {
			return s.Y[i], true
		}
	}
	return 0, false
}

// plane draws lines and points as a field of characters.
func (p *printer) plane(c tables.Chart, e box) []string {
	const high = 15
	left := 9
	f := newSketch(min(p.o.Width-left-2, 76), high, e)
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
			f.put(s.X[i], s.Y[i], p.pen().points[n%len(p.pen().points)])
		}
	}
	return append(f.framed(left, p.pen()), p.key(c)...)
}

// key says what the characters and axes mean.
func (p *printer) key(c tables.Chart) []string {
	var parts []string
	for n, s := range c.Series {
		if s.Kind != tables.Band && (len(c.Series) > 1 || s.Kind != tables.Bars) {
			parts = append(parts, p.pen().points[n%len(p.pen().points)]+" "+p.name(s.Name, mostName))
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

func unitAfter(s tables.Scale) string {
	if s.Unit == "" {
		return ""
	}
	return " " + s.Unit
}

package export

import (
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"injtab/tables"
)

// A look tells a series apart three times over: by colour, dash and marker.
type look struct {
	tone  tone
	dash  []vg.Length
	glyph draw.GlyphDrawer
}

var (
	seriesDashes = [][]vg.Length{nil, {8, 4}, {2, 3}, {8, 3, 2, 3}, {12, 3}}
	seriesGlyphs = []draw.GlyphDrawer{
		draw.CircleGlyph{}, draw.BoxGlyph{}, draw.PyramidGlyph{}, draw.RingGlyph{},
		draw.SquareGlyph{}, draw.TriangleGlyph{}, draw.CrossGlyph{}, draw.PlusGlyph{},
	}
)

func newLook(n int) look {
	return look{seriesTones[n%len(seriesTones)], seriesDashes[n%len(seriesDashes)], seriesGlyphs[n%len(seriesGlyphs)]}
}

func (l look) line() draw.LineStyle {
	return draw.LineStyle{Color: l.tone, Width: 1.8, Dashes: l.dash}
}

func (l look) mark(c draw.Canvas, at vg.Point) {
	c.DrawGlyphNoClip(draw.GlyphStyle{Color: l.tone, Radius: 3.4, Shape: l.glyph}, at)
}

func (l look) whisker(c draw.Canvas, x, low, high vg.Length) {
	style := draw.LineStyle{Color: inkTone, Width: 1}
	c.StrokeLine2(style, x, low, x, high)
	c.StrokeLine2(style, x-3, low, x+3, low)
	c.StrokeLine2(style, x-3, high, x+3, high)
}

// gridLines are pale lines at every tick of the upright axis.
type gridLines struct{}

func (gridLines) Plot(c draw.Canvas, p *plot.Plot) {
	_, y := p.Transforms(&c)
	for _, t := range p.Y.Tick.Marker.Ticks(p.Y.Min, p.Y.Max) {
		at := y(t.Value)
		if at >= c.Min.Y && at <= c.Max.Y {
			c.StrokeLine2(draw.LineStyle{Color: ruleTone, Width: 0.8}, c.Min.X, at, c.Max.X, at)
		}
	}
}

// linePlot draws a curve with its points, or the points alone, with intervals.
type linePlot struct {
	tables.Series
	look look
}

func (s linePlot) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	points := make([]vg.Point, len(s.X))
	for i := range s.X {
		points[i] = vg.Point{X: tx(s.X[i]), Y: ty(s.Y[i])}
		if s.Lo != nil {
			s.look.whisker(c, points[i].X, ty(s.Lo[i]), ty(s.Hi[i]))
		}
	}
	if s.Kind == tables.Line {
		c.StrokeLines(s.look.line(), points)
	}
	if s.Kind == tables.Points || len(points) <= 30 {
		for _, at := range points {
			s.look.mark(c, at)
		}
	}
}

func (s linePlot) thumb(c draw.Canvas) {
	if s.Kind == tables.Line {
		c.StrokeLine2(s.look.line(), c.Min.X, c.Center().Y, c.Max.X, c.Center().Y)
	}
	s.look.mark(c, c.Center())
}

// bandPlot fills the area between two curves.
type bandPlot struct {
	tables.Series
	look look
}

func (s bandPlot) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	var outline []vg.Point
	for i := range s.X {
		outline = append(outline, vg.Point{X: tx(s.X[i]), Y: ty(s.Hi[i])})
	}
	for i := len(s.X) - 1; i >= 0; i-- {
		outline = append(outline, vg.Point{X: tx(s.X[i]), Y: ty(s.Lo[i])})
	}
	c.FillPolygon(s.look.tone.faint(60), outline)
}

func (s bandPlot) thumb(c draw.Canvas) { c.FillPolygon(s.look.tone.faint(60), corners(c.Rectangle)) }

func corners(r vg.Rectangle) []vg.Point {
	return []vg.Point{r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}}
}

// barPlot draws one of several bars side by side for each category, its marker at
// the end.
type barPlot struct {
	tables.Series
	look      look
	place, of int
}

// bar is the rectangle of the bar at index i.
func (s barPlot) bar(i int, tx, ty func(float64) vg.Length) vg.Rectangle {
	wide := 0.76 / float64(s.of)
	left := s.X[i] - 0.38 + wide*float64(s.place)
	low, high := ty(min(0, s.Y[i])), ty(max(0, s.Y[i]))
	return vg.Rectangle{Min: vg.Point{X: tx(left), Y: low}, Max: vg.Point{X: tx(left + wide*0.92), Y: high}}
}

func (s barPlot) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	for i := range s.X {
		r := s.bar(i, tx, ty)
		s.draw(c, r)
		middle := (r.Min.X + r.Max.X) / 2
		if s.Lo != nil {
			s.look.whisker(c, middle, ty(s.Lo[i]), ty(s.Hi[i]))
		}
		if s.of > 1 {
			s.look.mark(c, vg.Point{X: middle, Y: ty(s.Y[i])})
		}
	}
	c.StrokeLine2(draw.LineStyle{Color: inkTone, Width: 1}, c.Min.X, ty(0), c.Max.X, ty(0))
}

// draw fills a bar, each series paler than the one before, within a full outline.
func (s barPlot) draw(c draw.Canvas, r vg.Rectangle) {
	alphas := []uint8{220, 120, 50}
	c.FillPolygon(s.look.tone.faint(alphas[s.place%len(alphas)]), corners(r))
	outline := corners(r)
	c.StrokeLines(draw.LineStyle{Color: s.look.tone, Width: 1}, append(outline, outline[0]))
}

func (s barPlot) thumb(c draw.Canvas) {
	end := c.Rectangle
	end.Max.X -= 5
	s.draw(c, end)
	if s.of > 1 {
		s.look.mark(c, vg.Point{X: end.Max.X, Y: c.Center().Y})
	}
}

// markPlot draws a line across, such as a limit.
type markPlot struct{ tables.Mark }

var limitLine = draw.LineStyle{Color: limitTone, Width: 1.2, Dashes: []vg.Length{3, 3}}

func (m markPlot) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	if m.Vertical {
		c.StrokeLine2(limitLine, tx(m.At), c.Min.Y, tx(m.At), c.Max.Y)
	} else {
		c.StrokeLine2(limitLine, c.Min.X, ty(m.At), c.Max.X, ty(m.At))
	}
}

func (m markPlot) thumb(c draw.Canvas) {
	if m.Vertical {
		c.StrokeLine2(limitLine, c.Center().X, c.Min.Y, c.Center().X, c.Max.Y)
	} else {
		c.StrokeLine2(limitLine, c.Min.X, c.Center().Y, c.Max.X, c.Center().Y)
	}
}

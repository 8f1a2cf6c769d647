package export

import (
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"injtab/tables"
)

// The size of a picture in points.
const pictureWide, pictureHigh vg.Length = 720, 420

// A figure is a chart laid out for drawing: the plot, and under it a key of its
// series and marks.
type figure struct {
	chart tables.Chart
	plot  *plot.Plot
	keys  []key
}

// A key shows how one series is drawn beside its name.
type key struct {
	name  string
	thumb func(c draw.Canvas)
}

func newFigure(c tables.Chart) (figure, error) {
	if err := checkChart(c); err != nil {
		return figure{}, err
	}
	f := figure{chart: c, plot: plainPlot()}
	f.axes()
	bars := 0
	for _, s := range c.Series {
		if s.Kind == tables.Bars {
			bars++
		}
	}
	n, place := 0, 0
	for _, s := range c.Series {
		look := newLook(n)
		if s.Kind != tables.Band { // a band has the look of the curve after it
			n++
		}
		switch s.Kind {
		case tables.Band:
			f.add(s.Name, bandPlot{s, look})
		case tables.Bars:
			f.add(s.Name, barPlot{s, look, place, bars})
			place++
		default:
			f.add(s.Name, linePlot{s, look})
		}
	}
	for _, m := range c.Marks {
		f.add(m.Name, markPlot{m})
	}
	return f, nil
}

// A drawer draws a series and its sample for the key.
type drawer interface {
	plot.Plotter
	thumb(c draw.Canvas)
}

func (f *figure) add(name string, d drawer) {
	f.plot.Add(d)
	f.keys = append(f.keys, key{shortened(name, 30), d.thumb})
}

func shortened(s string, most int) string { return shorten(clean(s), most) }

func sans(size vg.Length) text.Style {
	return text.Style{
		Color: inkTone, Handler: plot.DefaultTextHandler,
		Font: font.Font{Typeface: "Liberation", Variant: "Sans", Size: size},
	}
}

func plainPlot() *plot.Plot {
	p := plot.New()
	p.BackgroundColor = nil
	p.Title.TextStyle = aligned(p.Title.TextStyle, 14)
	for _, axis := range []*plot.Axis{&p.X, &p.Y} {
		axis.LineStyle.Color = inkTone
		axis.Tick.LineStyle.Color = inkTone
		axis.Label.Padding = 4
		axis.Padding = 0
	}
	p.X.Label.TextStyle, p.Y.Label.TextStyle = aligned(p.X.Label.TextStyle, 12), aligned(p.Y.Label.TextStyle, 12)
	p.X.Tick.Label, p.Y.Tick.Label = aligned(p.X.Tick.Label, 11), aligned(p.Y.Tick.Label, 11)
	p.Add(gridLines{})
	return p
}

// aligned is our text in the library's alignment.
func aligned(old text.Style, size vg.Length) text.Style {
	s := sans(size)
	s.XAlign, s.YAlign, s.Rotation = old.XAlign, old.YAlign, old.Rotation
	return s
}

// axes sets ranges, ticks and titles.
func (f *figure) axes() {
	p, c := f.plot, f.chart
	p.Title.Text = shortened(c.Title, 80)
	p.X.Label.Text, p.Y.Label.Text = shortened(scale(c.X), 80), shortened(scale(c.Y), 50)
	e, ok := extent(c)
	if !ok {
		e = box{0, 1, 0, 1}
	}
	air := 0.05 * (e.y1 - e.y0)
	p.Y.Min, p.Y.Max = e.y0-air, e.y1+air
	p.X.Min, p.X.Max = e.x0, e.x1
	p.X.Tick.Marker, p.Y.Tick.Marker = evenTicks{8}, evenTicks{7}
	n := len(c.Categories)
	if n == 0 {
		return
	}
	p.X.Min, p.X.Max = -0.5, float64(n)-0.5
	labels, upright := f.categoryLabels()
	ticks := make(plot.ConstantTicks, n)
	for i, label := range labels {
		ticks[i] = plot.Tick{Value: float64(i), Label: label}
	}
	p.X.Tick.Marker = ticks
	if upright {
		p.X.Tick.Label.Rotation = math.Pi / 2
		p.X.Tick.Label.XAlign, p.X.Tick.Label.YAlign = draw.XRight, draw.YCenter
	}
}

// categoryLabels are the names of the categories in lines that fit side by side, or,
// where they don't, to be set upright.
func (f *figure) categoryLabels() (labels []string, upright bool) {
	const letters, mostLines = 108, 3 // in the picture's width; below it
	room := letters / len(f.chart.Categories)
	for _, name := range f.chart.Categories {
		lines := wrap(shortened(name, 3*max(room, 8)), max(room, 2))
		if len(lines) > mostLines || longestWord(name) > room {
			upright = true
		}
		labels = append(labels, strings.Join(lines, "\n"))
	}
	if upright {
		return each(f.chart.Categories, func(name string) string { return shortened(name, 26) }), true
	}
	return labels, false
}

// evenTicks are round numbers at even steps, about so many of them.
type evenTicks struct{ about int }

func (t evenTicks) Ticks(lo, hi float64) []plot.Tick {
	step := roundUp((hi - lo) / float64(t.about))
	digits := max(-int(math.Floor(math.Log10(step)+1e-9)), 0)
	var list []plot.Tick
	for k := math.Ceil(lo/step - 1e-9); k*step <= hi+step*1e-9; k++ {
		list = append(list, plot.Tick{Value: k * step, Label: number(k*step, digits)})
	}
	return list
}

// roundUp is the next of 1, 2, 5 times a power of ten.
func roundUp(x float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(x)))
	for _, m := range []float64{1, 2, 5} {
		if x <= m*power*(1+1e-9) {
			return m * power
		}
	}
	return 10 * power
}

// Of the key: the height of a row, the width of a sample, the room below.
const keyHigh, thumbWide, keyFoot vg.Length = 18, 30, 6

// draw puts the plot on a canvas with its key below, and gives the part of the
// canvas that data are drawn on.
func (f figure) draw(c draw.Canvas) draw.Canvas {
	rows := f.keyRows(c.Max.X - c.Min.X)
	top := draw.Crop(c, 6, -14, keyFoot+keyHigh*vg.Length(len(rows))+8, -6)
	f.plot.Draw(top)
	y := c.Min.Y + keyFoot + keyHigh*vg.Length(len(rows)) - keyHigh/2
	for _, row := range rows {
		x := c.Min.X + 12
		for _, k := range row {
			k.thumb(draw.Canvas{Canvas: c.Canvas, Rectangle: vg.Rectangle{
				Min: vg.Point{X: x, Y: y - 5}, Max: vg.Point{X: x + thumbWide, Y: y + 5}}})
			style := sans(11)
			style.YAlign = draw.YCenter
			c.FillText(style, vg.Point{X: x + thumbWide + 5, Y: y}, k.name)
			x += keyWide(k)
		}
		y -= keyHigh
	}
	return f.plot.DataCanvas(top)
}

func keyWide(k key) vg.Length { return thumbWide + 5 + sans(11).Width(k.name) + 16 }

// keyRows sets the keys side by side as far as the width reaches.
func (f figure) keyRows(wide vg.Length) [][]key {
	if len(f.keys) < 2 {
		return nil
	}
	rows, x := [][]key{nil}, vg.Length(12)
	for _, k := range f.keys {
		last := len(rows) - 1
		if x+keyWide(k) > wide && len(rows[last]) > 0 {
			rows, x, last = append(rows, nil), 12, last+1
		}
		rows[last] = append(rows[last], k)
		x += keyWide(k)
	}
	return rows
}

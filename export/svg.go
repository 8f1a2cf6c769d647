package export

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"injtab/tables"
)

const svgFont = `font-family="Liberation Sans, Arial, Helvetica, sans-serif"`

// SVG writes a chart as a picture of its own on white.
func SVG(w io.Writer, c tables.Chart) error {
	body, err := svgBody(c, false)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, `<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" width="1600" viewBox="0 0 %s %s" role="img" aria-labelledby="title desc" %s>
<title id="title">%s</title>
<desc id="desc">%s</desc>
<rect width="100%%" height="100%%" fill="#ffffff"/>
%s</svg>
`, coordinate(pictureWide.Points()), coordinate(pictureHigh.Points()), svgFont, xmlText(c.Title), xmlText(c.Alt), body)
	return err
}

// inlineSVG gives a chart as an element of a page: colours are the page's custom
// properties, and each value is told where the pointer rests. The id must be the
// page's own.
func inlineSVG(c tables.Chart, id string) (string, error) {
	body, err := svgBody(c, true)
	if err != nil {
		return "", err
	}
	return fmt.Sprintf(`<svg viewBox="0 0 %s %s" role="img" aria-labelledby="%s-title %s-desc" %s>
<title id="%s-title">%s</title>
<desc id="%s-desc">%s</desc>
%s</svg>`, coordinate(pictureWide.Points()), coordinate(pictureHigh.Points()), id, id, svgFont, id, xmlText(c.Title), id, xmlText(c.Alt), body), nil
}

func svgBody(c tables.Chart, inline bool) (string, error) {
	f, err := newFigure(c)
	if err != nil {
		return "", err
	}
	if inline {
		f.plot.Title.Text = "" // the page has it above
	}
	canvas := newSVGCanvas(pictureHigh, inline)
	data := f.draw(draw.NewCanvas(canvas, pictureWide, pictureHigh))
	if inline {
		f.targets(canvas, data)
	}
	return canvas.b.String(), nil
}

// targets lays clear shapes over points and bars, whose titles tell the values.
func (f figure) targets(c *svgCanvas, data draw.Canvas) {
	tx, ty := f.plot.Transforms(&data)
	place, bars := 0, 0
	for _, s := range f.chart.Series {
		if s.Kind == tables.Bars {
			bars++
		}
	}
	for _, s := range f.chart.Series {
		if s.Kind == tables.Bars {
			b := barPlot{Series: s, place: place, of: bars}
			for i := range s.X {
				c.barTarget(b.bar(i, tx, ty), f.tip(s, i))
			}
			place++
			continue
		}
		for i := range s.Y {
			x, y := c.xy(vg.Point{X: tx(s.X[i]), Y: ty(s.Y[i])})
			fmt.Fprintf(&c.b, `<circle class="hit" cx="%s" cy="%s" r="9"><title>%s</title></circle>`+"\n", coordinate(x), coordinate(y), xmlText(f.tip(s, i)))
		}
	}
}

// barTarget covers a bar, made high enough to be met.
func (c *svgCanvas) barTarget(r vg.Rectangle, tip string) {
	const least = 12
	x0, y1 := c.xy(r.Min)
	x1, y0 := c.xy(r.Max)
	if grow := (least - (y1 - y0)) / 2; grow > 0 {
		y0, y1 = y0-grow, y1+grow
	}
	fmt.Fprintf(&c.b, `<rect class="hit" x="%s" y="%s" width="%s" height="%s"><title>%s</title></rect>`+"\n",
		coordinate(x0), coordinate(y0), coordinate(x1-x0), coordinate(y1-y0), xmlText(tip))
}

// tip says one value: "250 kPa: 1.52 ms at 10 V".
func (f figure) tip(s tables.Series, i int) string {
	var parts []string
	for _, part := range []string{s.Name, label(s, i)} {
		if part != "" {
			parts = append(parts, shortened(part, 60))
		}
	}
	at := compact(s.X[i]) + unitAfter(f.chart.X)
	if n := int(s.X[i] + 0.5); len(f.chart.Categories) > 0 && n >= 0 && n < len(f.chart.Categories) {
		at = shortened(f.chart.Categories[n], 60)
	}
	value := compact(s.Y[i]) + unitAfter(f.chart.Y)
	if s.Lo != nil {
		value += fmt.Sprintf(" (%s to %s)", compact(s.Lo[i]), compact(s.Hi[i]))
	}
	return strings.Join(parts, ", ") + ": " + value + " at " + at
}

func label(s tables.Series, i int) string {
	if s.Labels == nil {
		return ""
	}
	return s.Labels[i]
}

// PNG writes a chart as a picture of 1600 pixels' width on white.
func PNG(w io.Writer, c tables.Chart) error {
	f, err := newFigure(c)
	if err != nil {
		return err
	}
	canvas := vgimg.NewWith(vgimg.UseWH(pictureWide, pictureHigh), vgimg.UseDPI(160), vgimg.UseBackgroundColor(paperTone.NRGBA))
	f.draw(draw.New(canvas))
	var buf bytes.Buffer // so that nothing is written of a picture that fails
	if _, err := (vgimg.PngCanvas{Canvas: canvas}).WriteTo(&buf); err != nil {
		return fmt.Errorf("chart %s can't be drawn: %w", c.Name, err)
	}
	_, err = w.Write(buf.Bytes())
	return err
}

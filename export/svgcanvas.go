package export

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image"
	"image/color"
	"math"
	"strings"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// An svgCanvas takes what the plotting library draws and writes it as SVG with
// absolute coordinates; the origin is turned from bottom left to top left. With
// named set, colours are the page's custom properties.
type svgCanvas struct {
	b     bytes.Buffer
	high  float64
	named bool
	pen   svgPen
	stack []svgPen
}

// An svgPen is the state of drawing.
type svgPen struct {
	width  float64
	dash   []vg.Length
	offset vg.Length
	color  tone
	m      [6]float64 // x' = m0·x + m2·y + m4, y' = m1·x + m3·y + m5
}

func newSVGCanvas(high vg.Length, named bool) *svgCanvas {
	return &svgCanvas{high: high.Points(), named: named, pen: svgPen{width: 1, color: inkTone, m: [6]float64{1, 0, 0, 1, 0, 0}}}
}

func (c *svgCanvas) SetLineWidth(w vg.Length) { c.pen.width = w.Points() }

func (c *svgCanvas) SetLineDash(pattern []vg.Length, offset vg.Length) {
	c.pen.dash, c.pen.offset = append([]vg.Length{}, pattern...), offset
}

func (c *svgCanvas) SetColor(clr color.Color) {
	switch v := clr.(type) {
	case tone:
		c.pen.color = v
	case nil:
		c.pen.color = inkTone
	default:
		c.pen.color = tone{color.NRGBAModel.Convert(v).(color.NRGBA), ""}
	}
}

func (c *svgCanvas) Rotate(rad float64) {
	sin, cos := math.Sincos(rad)
	c.apply([6]float64{cos, sin, -sin, cos, 0, 0})
}

func (c *svgCanvas) Translate(p vg.Point) {
	c.apply([6]float64{1, 0, 0, 1, p.X.Points(), p.Y.Points()})
}

func (c *svgCanvas) Scale(x, y float64) { c.apply([6]float64{x, 0, 0, y, 0, 0}) }

func (c *svgCanvas) apply(t [6]float64) {
	m := c.pen.m
	c.pen.m = [6]float64{
		m[0]*t[0] + m[2]*t[1], m[1]*t[0] + m[3]*t[1],
		m[0]*t[2] + m[2]*t[3], m[1]*t[2] + m[3]*t[3],
		m[0]*t[4] + m[2]*t[5] + m[4], m[1]*t[4] + m[3]*t[5] + m[5],
	}
}

func (c *svgCanvas) Push() { c.stack = append(c.stack, c.pen) }

func (c *svgCanvas) Pop() {
	c.pen = c.stack[len(c.stack)-1]
	c.stack = c.stack[:len(c.stack)-1]
}

// xy is a point of the picture, y from the top.
func (c *svgCanvas) xy(p vg.Point) (x, y float64) {
	m, px, py := c.pen.m, p.X.Points(), p.Y.Points()
	return m[0]*px + m[2]*py + m[4], c.high - (m[1]*px + m[3]*py + m[5])
}

func (c *svgCanvas) point(p vg.Point) string {
	x, y := c.xy(p)
	return coordinate(x) + " " + coordinate(y)
}

// coordinate writes hundredths, which no eye tells apart.
func coordinate(x float64) string {
	s := number(x, 2)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

func (c *svgCanvas) Stroke(p vg.Path) {
	if c.pen.width <= 0 {
		return
	}
	fmt.Fprintf(&c.b, `<path d="%s" fill="none" %s stroke-width="%s"`, c.path(p), c.paint("stroke"), coordinate(c.pen.width))
	if len(c.pen.dash) > 0 {
		dashes := make([]string, len(c.pen.dash))
		for i, d := range c.pen.dash {
			dashes[i] = coordinate(d.Points())
		}
		fmt.Fprintf(&c.b, ` stroke-dasharray="%s"`, strings.Join(dashes, " "))
	}
	c.b.WriteString("/>\n")
}

func (c *svgCanvas) Fill(p vg.Path) {
	fmt.Fprintf(&c.b, `<path d="%s" %s/>`+"\n", c.path(p), c.paint("fill"))
}

// paint gives the colour for "stroke" or "fill".
func (c *svgCanvas) paint(what string) string {
	t := c.pen.color
	value := t.hex()
	if c.named && t.name != "" {
		value = "var(--" + t.name + ")"
	}
	s := fmt.Sprintf(`%s="%s"`, what, value)
	if t.A < 255 {
		s += fmt.Sprintf(` %s-opacity="%s"`, what, coordinate(float64(t.A)/255))
	}
	return s
}

func (c *svgCanvas) path(p vg.Path) string {
	var b strings.Builder
	for _, comp := range p {
		switch comp.Type {
		case vg.MoveComp:
			b.WriteString("M" + c.point(comp.Pos))
		case vg.LineComp:
			b.WriteString("L" + c.point(comp.Pos))
		case vg.ArcComp:
			c.arc(&b, comp)
		case vg.CurveComp:
			b.WriteString([]string{"L", "Q", "C"}[len(comp.Control)])
			for _, p := range comp.Control {
				b.WriteString(c.point(p) + " ")
			}
			b.WriteString(c.point(comp.Pos))
		case vg.CloseComp:
			b.WriteString("Z")
		}
	}
	return b.String()
}

// arc writes an arc in steps of at most half a turn, which is all that SVG has.
func (c *svgCanvas) arc(b *strings.Builder, comp vg.PathComp) {
	at := func(angle float64) vg.Point {
		sin, cos := math.Sincos(angle)
		return vg.Point{X: comp.Pos.X + comp.Radius*vg.Length(cos), Y: comp.Pos.Y + comp.Radius*vg.Length(sin)}
	}
	b.WriteString(map[bool]string{true: "M", false: "L"}[b.Len() == 0] + c.point(at(comp.Start)))
	radius, sweep := coordinate(comp.Radius.Points()), 0
	if comp.Angle < 0 {
		sweep = 1
	}
	steps := int(math.Ceil(math.Abs(comp.Angle)/math.Pi - 1e-9))
	for i := 1; i <= steps; i++ {
		end := at(comp.Start + comp.Angle*float64(i)/float64(steps))
		fmt.Fprintf(b, "A%s %s 0 0 %d %s", radius, radius, sweep, c.point(end))
	}
}

func (c *svgCanvas) FillString(f font.Face, p vg.Point, text string) {
	if f.Font.Size <= 0 || text == "" {
		return
	}
	x, y := c.xy(p)
	attributes := ""
	if angle := -math.Atan2(c.pen.m[1], c.pen.m[0]) * 180 / math.Pi; math.Abs(angle) > 0.01 {
		attributes = fmt.Sprintf(` transform="rotate(%s %s %s)"`, coordinate(angle), coordinate(x), coordinate(y))
	}
	if !strings.ContainsFunc(text, func(r rune) bool { return r > 0x24f }) {
		// Whatever font the reader has, the text fills the width it was given.
		attributes += fmt.Sprintf(` textLength="%s" lengthAdjust="spacingAndGlyphs"`, coordinate(f.Width(text).Points()))
	}
	fmt.Fprintf(&c.b, `<text x="%s" y="%s"%s font-size="%s" %s>%s</text>`+"\n",
		coordinate(x), coordinate(y), attributes, coordinate(f.Font.Size.Points()), c.paint("fill"), xmlText(text))
}

// DrawImage does nothing: charts hold no images.
func (c *svgCanvas) DrawImage(vg.Rectangle, image.Image) {}

// xmlText makes a text safe to show and to stand in XML.
func xmlText(s string) string {
	var b strings.Builder
	xml.EscapeText(&b, []byte(clean(s))) // a builder takes everything
	return b.String()
}

package export

import (
	"strings"

	"github.com/xuri/excelize/v2"

	"injtab/fit/diag"
)

// A styleKey tells one style from another; a kind of cell may have it with different digits,
// bases and states.
type styleKey struct {
	kind     string
	decimals int
	basis    diag.Basis
	status   diag.Status
}

// made makes a style once and gives its number ever after.
func (b *book) made(kind string, s excelize.Style) int {
	return b.once(styleKey{kind: kind}, func() excelize.Style { return s })
}

// once is made for the many cells of a table, whose style is not worked out each time.
func (b *book) once(key styleKey, style func() excelize.Style) int {
	if key == b.last.key { // has a kind
		return b.last.style
	}
	id, ok := b.styles[key]
	if !ok {
		id = b.add(style())
		b.styles[key] = id
	}
	b.last.key, b.last.style = key, id
	return id
}

// add gives a style what all have.
func (b *book) add(s excelize.Style) int {
	if s.Font == nil {
		s.Font = &excelize.Font{Color: ink}
	}
	if s.Font.Family = family; s.Font.Size <= 0 {
		s.Font.Size = 10
	}
	if s.Alignment == nil {
		s.Alignment = &excelize.Alignment{Vertical: "center"}
	}
	id, err := b.f.NewStyle(&s)
	b.try(err)
	return id
}

const (
	family = "Arial"
	ink    = "222222"
	grey   = "808080"
	pale   = "F2F2F2"
)

func (b *book) titleStyle() int {
	return b.made("title", excelize.Style{Font: &excelize.Font{Bold: true, Size: 15, Color: ink}})
}

func (b *book) boldStyle() int {
	return b.made("bold", excelize.Style{Font: &excelize.Font{Bold: true, Color: ink}, Alignment: &excelize.Alignment{WrapText: true, Vertical: "center"}})
}

func (b *book) plainStyle() int {
	return b.made("plain", excelize.Style{NumFmt: 49, Alignment: &excelize.Alignment{WrapText: true, Vertical: "center"}})
}

func (b *book) smallStyle() int {
	return b.made("small", excelize.Style{Font: &excelize.Font{Italic: true, Color: "595959"}, Alignment: &excelize.Alignment{Vertical: "center", WrapText: true}})
}

func (b *book) linkStyle() int {
	return b.made("link", excelize.Style{Font: &excelize.Font{Underline: "single", Color: "0B5394"}, Alignment: &excelize.Alignment{Vertical: "center"}})
}

// headStyle is for headers, which are numbers in a grid.
func (b *book) headStyle(text bool) int {
	side, indent := "right", 0
	if text {
		side, indent = "left", 1
	}
	return b.made("head "+side, excelize.Style{
		Font: &excelize.Font{Bold: true, Color: ink}, Fill: solid(pale),
		Alignment: &excelize.Alignment{Horizontal: side, Indent: indent, WrapText: true, Vertical: "bottom"},
		Border:    []excelize.Border{{Type: "bottom", Style: 2, Color: ink}},
	})
}

func solid(color string) excelize.Fill {
	return excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{color}}
}

// textStyle is for names: the text format keeps a spreadsheet from running one
// that is edited, and the alignment from taking it for a number.
func (b *book) textStyle() int {
	return b.once(styleKey{kind: "text"}, func() excelize.Style {
		return excelize.Style{NumFmt: 49, Alignment: indented(), Border: frame(7, grey)}
	})
}

func (b *book) axisStyle(decimals int) int {
	return b.once(styleKey{kind: "axis", decimals: decimals}, func() excelize.Style {
		format := digits(decimals)
		return excelize.Style{
			Font: &excelize.Font{Bold: true, Color: ink}, Fill: solid(pale), CustomNumFmt: &format,
			Border: []excelize.Border{{Type: "right", Style: 2, Color: ink}},
		}
	})
}

func (b *book) plainNumber(decimals int) int {
	return b.once(styleKey{kind: "number", decimals: decimals}, func() excelize.Style {
		format := digits(decimals)
		return excelize.Style{CustomNumFmt: &format, Border: frame(7, grey)}
	})
}

func (b *book) valueStyle(decimals int, basis diag.Basis, status diag.Status) int {
	return b.once(styleKey{"value", decimals, basis, status}, func() excelize.Style { return valueLook(decimals, basis, status) })
}

// valueLook shows what a value rests on so that it can be told in a black and white
// print: by slant, line, pattern and frame.
func valueLook(decimals int, basis diag.Basis, status diag.Status) excelize.Style {
	format := digits(decimals)
	s := excelize.Style{Font: &excelize.Font{Color: "000000"}, CustomNumFmt: &format, Border: frame(7, grey)}
	switch {
	case status == diag.DoesNotOpen:
		s.Border = append(s.Border, excelize.Border{Type: "diagonalUp", Style: 1, Color: grey}, excelize.Border{Type: "diagonalDown", Style: 1, Color: grey})
		basis = diag.Measured
	case !status.HasValue():
		s.Border, basis = nil, diag.Measured
	case basis == diag.Interpolated:
		s.Font.Italic = true
	case basis == diag.Extrapolated:
		s.Font.Italic = true
		s.Fill = excelize.Fill{Type: "pattern", Pattern: 18, Color: []string{"BFBFBF"}}
		s.Border = frame(3, ink)
	case basis == diag.Assumed:
		s.Font.Italic, s.Font.Underline = true, "single"
		s.Fill = excelize.Fill{Type: "pattern", Pattern: 4, Color: []string{"A6A6A6"}}
		s.Border = frame(4, ink)
	}
	if status == diag.Unreliable {
		s.Font.Bold = true
		s.Border = frame(5, ink)
	}
	return s
}

// frame is a border of one style on all four sides.
func frame(style int, color string) []excelize.Border {
	var list []excelize.Border
	for _, side := range []string{"left", "right", "top", "bottom"} {
		list = append(list, excelize.Border{Type: side, Style: style, Color: color})
	}
	return list
}

// digits is the number format with so many digits after the point.
func digits(decimals int) string {
	if decimals <= 0 {
		return "0"
	}
	return "0." + strings.Repeat("0", min(decimals, 20))
}

// sample is one line of the legend.
type sample struct {
	basis  diag.Basis
	status diag.Status
	text   string
}

var samples = []sample{
	{diag.Measured, diag.OK, "measured"},
	{diag.Interpolated, diag.OK, "italic: between readings"},
	{diag.Extrapolated, diag.OK, "italic, dashed frame, pale: beyond the readings, by the fitted curve"},
	{diag.Assumed, diag.OK, "underlined, dotted frame, grey: assumed, not measured"},
	{diag.Measured, diag.Unreliable, "bold, thick frame: unreliable, the injector barely opens"},
	{diag.Measured, diag.DoesNotOpen, "crossed out, empty: does not open"},
	{diag.Measured, diag.NotMeasured, "empty, no frame: not measured"},
}

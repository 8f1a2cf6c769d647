package export

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image/png"
	"io"
	"math"
	"strings"
	"testing"

	"injtab/tables"
)

func drawn(t testing.TB, draw func(io.Writer, tables.Chart) error, c tables.Chart) []byte {
	t.Helper()
	var buf bytes.Buffer
	if err := draw(&buf, c); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

func TestSVGGolden(t *testing.T) {
	golden(t, "curve.svg", drawn(t, SVG, curve()))
	golden(t, "bars.svg", drawn(t, SVG, bars()))
}

// hostileChart has all texts in titles, names and categories, and points too.
func hostileChart() tables.Chart {
	c := hostileReport().Sections[0].Charts[0]
	for i, h := range hostile {
		c.Series = append(c.Series, tables.Series{Name: h, Kind: tables.Points, X: []float64{float64(i)}, Y: []float64{1}, Labels: []string{h}})
		c.Marks = append(c.Marks, tables.Mark{Name: h, At: float64(i)})
	}
	return c
}

func TestSVGIsWellFormed(t *testing.T) {
	inline := func(w io.Writer, c tables.Chart) error {
		s, err := inlineSVG(c, "chart-x")
		io.WriteString(w, s)
		return err
	}
	for _, draw := range []func(io.Writer, tables.Chart) error{SVG, inline} {
		for _, c := range []tables.Chart{curve(), bars(), hostileChart(), {}} {
			names := map[string]int{}
			d := xml.NewDecoder(bytes.NewReader(drawn(t, draw, c)))
			for {
				token, err := d.Token()
				if err == io.EOF {
					break
				}
				if err != nil {
					t.Fatal(err)
				}
				if e, ok := token.(xml.StartElement); ok {
					names[e.Name.Local]++
				}
			}
			for name := range names {
				if !strings.Contains(" svg title desc rect path text circle ", " "+name+" ") {
					t.Errorf("element %s in chart %q", name, c.Title)
				}
			}
			if names["title"] == 0 || names["desc"] != 1 {
				t.Errorf("titles and descriptions: %v", names)
			}
		}
	}
}

func TestInlineSVGTellsEveryValue(t *testing.T) {
	for _, c := range []tables.Chart{curve(), bars()} {
		s, err := inlineSVG(c, "chart-x")
		if err != nil {
			t.Fatal(err)
		}
		want := 0
		for _, series := range c.Series {
			want += len(series.Y)
		}
		if got := strings.Count(s, `class="hit"`); got != want {
			t.Errorf("%d values are told, want %d", got, want)
		}
	}
	s, _ := inlineSVG(curve(), "chart-x")
	for _, want := range []string{"250 kPa: 1.52 ms at 10 V", "measured, injector 7, 12 V: 1.14 ms (1.12 to 1.16) at 12 V", "var(--s1)", `role="img"`} {
		if !strings.Contains(s, want) {
			t.Errorf("no %q", want)
		}
	}
	if s, _ := inlineSVG(bars(), "chart-x"); !strings.Contains(s, "2 ms: -6.3 % at 4") {
		t.Error("a bar does not tell its value")
	}
}

// A point at the middle of both ranges lies at the middle of the data area, and
// one at a corner at its corner: placed by the library, checked by proportion.
func TestTargetsLieOverTheirPoints(t *testing.T) {
	c := tables.Chart{X: tables.Scale{Title: "x"}, Y: tables.Scale{Title: "y"}, Series: []tables.Series{
		{Name: "s", Kind: tables.Line, X: []float64{0, 5, 10}, Y: []float64{0, 10, 20}}}}
	s, err := inlineSVG(c, "chart-x")
	if err != nil {
		t.Fatal(err)
	}
	var root struct {
		Circles []struct {
			X float64 `xml:"cx,attr"`
			Y float64 `xml:"cy,attr"`
		} `xml:"circle"`
	}
	if err := xml.Unmarshal([]byte(s), &root); err != nil {
		t.Fatal(err)
	}
	p := root.Circles
	if len(p) != 3 || p[0].X >= p[1].X || p[0].Y <= p[1].Y ||
		math.Abs(p[0].X+p[2].X-2*p[1].X) > 0.05 || math.Abs(p[0].Y+p[2].Y-2*p[1].Y) > 0.05 {
		t.Errorf("targets at %+v", p)
	}
	if line := "M" + coordinate(p[0].X) + " " + coordinate(p[0].Y) + "L" + coordinate(p[1].X) + " " + coordinate(p[1].Y); !strings.Contains(s, line) {
		t.Errorf("the curve does not run through %s", line)
	}
}

func TestPNGIs1600Wide(t *testing.T) {
	for _, c := range []tables.Chart{curve(), bars(), hostileChart(), {}} {
		first := drawn(t, PNG, c)
		img, err := png.Decode(bytes.NewReader(first))
		if err != nil {
			t.Fatal(err)
		}
		if img.Bounds().Dx() != 1600 {
			t.Errorf("%v", img.Bounds())
		}
		if !bytes.Equal(first, drawn(t, PNG, c)) {
			t.Error("two runs differ")
		}
	}
}

func TestTicksAreRound(t *testing.T) {
	for _, c := range []struct {
		lo, hi float64
		want   string
	}{{0, 10, "0 2 4 6 8 10"}, {-6.7, 2.6, "-6 -4 -2 0 2"}, {0.91, 0.94, "0.910 0.915 0.920 0.925 0.930 0.935 0.940"}, {8, 15, "8 9 10 11 12 13 14 15"}} {
		var got []string
		for _, tick := range (evenTicks{7}).Ticks(c.lo, c.hi) {
			got = append(got, tick.Label)
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%v to %v: %s, want %s", c.lo, c.hi, s, c.want)
		}
	}
}

func TestSeriesDifferWithoutColour(t *testing.T) {
	seen := map[string]bool{}
	for n := range seriesTones {
		look := newLook(n)
		key := fmt.Sprintf("%v %T", look.dash, look.glyph)
		if seen[key] {
			t.Errorf("series %d looks like another", n)
		}
		seen[key] = true
	}
}

func BenchmarkSVG(b *testing.B) {
	for b.Loop() {
		drawn(b, SVG, curve())
	}
}

func BenchmarkPNG(b *testing.B) {
	for b.Loop() {
		drawn(b, PNG, curve())
	}
}

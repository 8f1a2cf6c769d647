package export

import (
	"fmt"
	"math"
	"strings"
)

// A sketch is a rectangle of characters that a plane is drawn on; row 0 is the top.
type sketch struct {
	box        box
	wide, high int
	rows       [][]string
}

func newSketch(wide, high int, b box) *sketch {
	f := &sketch{box: b, wide: wide, high: high}
	for range high {
		f.rows = append(f.rows, strings.Split(strings.Repeat(" ", wide), ""))
	}
	return f
}

func (f *sketch) column(x float64) int { return place(x, f.box.x0, f.box.x1, f.wide) }
func (f *sketch) row(y float64) int    { return f.high - 1 - place(y, f.box.y0, f.box.y1, f.high) }

// place is the cell of n between lo and hi that x falls in.
func place(x, lo, hi float64, n int) int {
	return min(max(int(math.Round((x-lo)/(hi-lo)*float64(n-1))), 0), n-1)
}

func (f *sketch) put(x, y float64, s string) { f.rows[f.row(y)][f.column(x)] = s }

func (f *sketch) upright(x float64, s string) {
	for r := range f.rows {
		f.rows[r][f.column(x)] = s
	}
}

func (f *sketch) level(y float64, s string) {
	for c := range f.wide {
		f.rows[f.row(y)][c] = s
	}
}

// trail draws straight lines between points that follow one another.
func (f *sketch) trail(x, y []float64, s string) {
	for i := 1; i < len(x); i++ {
		steps := 2 * (f.wide + f.high)
		for k := 0; k <= steps; k++ {
			part := float64(k) / float64(steps)
			f.put(x[i-1]+(x[i]-x[i-1])*part, y[i-1]+(y[i]-y[i-1])*part, s)
		}
	}
}

// framed adds the axes with the values at their ends and middles.
func (f *sketch) framed(left int, p pen) []string {
	var lines []string
	for r, row := range f.rows {
		label := ""
		if r == 0 || r == f.high-1 || r == f.high/2 {
			label = compact(f.box.y1 + (f.box.y0-f.box.y1)*float64(r)/float64(f.high-1))
		}
		lines = append(lines, fmt.Sprintf("%*s %s%s", left-2, label, p.axis, strings.Join(row, "")))
	}
	lines = append(lines, strings.Repeat(" ", left-1)+p.axis+strings.Repeat(p.floor, f.wide))
	low, middle, high := compact(f.box.x0), compact((f.box.x0+f.box.x1)/2), compact(f.box.x1)
	under := fill(fill(low, f.wide/2-len(middle)/2)+middle, f.wide-len(high)) + high
	return append(lines, strings.Repeat(" ", left)+under)
}

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

// The steps that the axes of a sketch are marked at, about.
const stepsAcross, stepsUp = 6, 5

// rounded widens a box to whole steps upwards; across it stays as wide as the data.
func rounded(b box) box {
	step := roundUp((b.y1 - b.y0) / stepsUp)
	b.y0, b.y1 = math.Floor(b.y0/step+1e-9)*step, math.Ceil(b.y1/step-1e-9)*step
	return b
}

// framed adds the axes with round values beside them.
func (f *sketch) framed(left int, p pen) []string {
	labels := make([]string, f.high)
	for _, t := range (evenTicks{stepsUp}).Ticks(f.box.y0, f.box.y1) {
		labels[f.row(t.Value)] = t.Label
	}
	var lines []string
	for r, row := range f.rows {
		lines = append(lines, fmt.Sprintf("%*s %s%s", left-2, labels[r], p.axis, strings.Join(row, "")))
	}
	floor := strings.Split(strings.Repeat(p.floor, f.wide), "")
	under := ""
	for _, t := range (evenTicks{stepsAcross}).Ticks(f.box.x0, f.box.x1) {
		at := f.column(t.Value)
		floor[at] = p.tick
		if begin := max(at-len(t.Label)/2, 0); begin == 0 || begin > len(under) {
			under = fill(under, begin) + t.Label
		}
	}
	return append(lines, strings.Repeat(" ", left-1)+p.axis+strings.Join(floor, ""), strings.Repeat(" ", left)+under)
}

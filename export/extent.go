package export

import (
	"math"
	"strings"

	"injtab/tables"
)

// A box is the ranges of a chart's axes.
type box struct{ x0, x1, y0, y1 float64 }

// extent is the smallest box around all that is drawn; false if that is nothing.
// Bars stand on zero, and a box without width or height is opened.
func extent(c tables.Chart) (box, bool) {
	e := box{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)}
	wide := func(lo, hi *float64, list ...float64) {
		for _, x := range list {
			*lo, *hi = min(*lo, x), max(*hi, x)
		}
	}
	for _, s := range c.Series {
		wide(&e.x0, &e.x1, s.X...)
		for _, list := range [][]float64{s.Y, s.Lo, s.Hi} {
			wide(&e.y0, &e.y1, list...)
		}
		if s.Kind == tables.Bars {
			wide(&e.y0, &e.y1, 0)
		}
	}
	if e.x0 > e.x1 || e.y0 > e.y1 {
		return box{}, false
	}
	for _, m := range c.Marks {
		if m.Vertical {
			wide(&e.x0, &e.x1, m.At)
		} else {
			wide(&e.y0, &e.y1, m.At)
		}
	}
	open := func(lo, hi *float64) {
		if *hi-*lo <= 1e-9*math.Max(math.Abs(*lo), math.Abs(*hi)) || *hi-*lo < 1e-300 {
			step := math.Max(math.Abs(*lo)*0.1, 0.5)
			*lo, *hi = *lo-step, *hi+step
		}
	}
	open(&e.x0, &e.x1)
	open(&e.y0, &e.y1)
	return e, true
}

// compact writes a number with about four significant digits, without zeros at
// its end.
func compact(x float64) string {
	if math.Abs(x) < 1e-12 {
		return "0"
	}
	digits := min(max(3-int(math.Floor(math.Log10(math.Abs(x)))), 0), 12)
	s := number(x, digits)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

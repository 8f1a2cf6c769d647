package tables

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// mostPoints is how many readings a chart shows: a page with a point for each of a
// million has 320 MB, which no browser opens.
const mostPoints = 3000

// drawn tells whether a chart of n readings shows the i-th: all, or some that are spread
// in steps of the golden section, which keep time with no turns of injectors or points.
func drawn(i, n int) bool {
	_, part := math.Modf(float64(i) * math.Phi)
	return n <= mostPoints || part*float64(n) < mostPoints
}

// ofReadings ends the title of a chart that shows some of n readings.
func ofReadings(n int) string {
	if n <= mostPoints {
		return ""
	}
	return fmt.Sprintf(" (about %d of %d readings)", mostPoints, n)
}

// mostBars is how many injectors a chart of bars shows: of more nobody tells one from the
// next, and a page of 5000 has 15 MB for them.
const mostBars = 60

// farthest leaves a chart of bars those categories that are farthest from zero, in the order
// that they were in, and says so.
func farthest(c Chart) Chart {
	n := len(c.Categories)
	if n <= mostBars {
		return c
	}
	far := make([]float64, n)
	for _, s := range c.Series {
		for k, x := range s.X {
			far[int(x)] = math.Max(far[int(x)], math.Abs(s.Y[k]))
		}
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(far[b], far[a]) })
	kept := order[:mostBars]
	slices.Sort(kept)
	place := make(map[int]int, mostBars)
	names := make([]string, mostBars)
	for k, i := range kept {
		place[i], names[k] = k, c.Categories[i]
	}
	c.Categories = names
	c.Title += fmt.Sprintf(" (the %d farthest of %d)", mostBars, n)
	c.Series = slices.Clone(c.Series)
	for i, s := range c.Series {
		c.Series[i] = s.only(place)
	}
	return c
}

// only keeps the bars of some categories, at their new places.
func (s Series) only(place map[int]int) Series {
	kept := Series{Name: s.Name, Kind: s.Kind}
	for k, x := range s.X {
		to, ok := place[int(x)]
		if !ok {
			continue
		}
		kept.X, kept.Y = append(kept.X, float64(to)), append(kept.Y, s.Y[k])
		if len(s.Lo) > 0 {
			kept.Lo, kept.Hi = append(kept.Lo, s.Lo[k]), append(kept.Hi, s.Hi[k])
		}
		if len(s.Labels) > 0 {
			kept.Labels = append(kept.Labels, s.Labels[k])
		}
	}
	return kept
}

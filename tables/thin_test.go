package tables

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// TestThinnedChartsKeepNoTimeWithTheBench: of many readings about so many are drawn as
// were promised, and of every turn that injectors or points take the same share.
func TestThinnedChartsKeepNoTimeWithTheBench(t *testing.T) {
	for _, n := range []int{1, mostPoints, mostPoints + 1, 100_000, 1_000_000} {
		for _, turn := range []int{1, 4, 8, 20} {
			count := make([]int, turn)
			for i := range n {
				if drawn(i, n) {
					count[i%turn]++
				}
			}
			want := float64(min(n, mostPoints)) / float64(turn)
			for k, got := range count {
				if math.Abs(float64(got)-want) > 1+0.05*want {
					t.Errorf("%d readings in turns of %d: %d of those numbered %d are drawn, want about %.0f", n, turn, got, k, want)
				}
			}
		}
	}
}

// TestFarthestBars: of many injectors a chart has those that part most, where they belong.
func TestFarthestBars(t *testing.T) {
	const n = 1000
	c := Chart{Title: "Trims"}
	bars, few := Series{Name: "all", Kind: Bars}, Series{Name: "few", Kind: Bars}
	for i := range n {
		c.Categories = append(c.Categories, fmt.Sprint("N", i))
		y := math.Sin(float64(i)) * float64(i%10)
		bars.X, bars.Y = append(bars.X, float64(i)), append(bars.Y, y)
		bars.Lo, bars.Hi = append(bars.Lo, y-1), append(bars.Hi, y+1)
		if i%3 == 0 {
			few.X, few.Y = append(few.X, float64(i)), append(few.Y, -y/2)
		}
	}
	c.Series = []Series{bars, few}
	got := farthest(c)
	if len(got.Categories) != mostBars || !strings.Contains(got.Title, "60 farthest of 1000") {
		t.Fatalf("%d bars, %q", len(got.Categories), got.Title)
	}
	shown, least := map[string]bool{}, math.Inf(1)
	for k, x := range got.Series[0].X {
		name := got.Categories[int(x)]
		var i int
		fmt.Sscanf(name, "N%d", &i)
		if got.Series[0].Y[k] != bars.Y[i] || got.Series[0].Hi[k] != bars.Hi[i] {
			t.Errorf("%s has the bar of another", name)
		}
		shown[name], least = true, math.Min(least, math.Abs(bars.Y[i]))
	}
	for i, name := range c.Categories {
		if !shown[name] && math.Abs(bars.Y[i]) > least {
			t.Errorf("%s with %v is left out, one with %v is not", name, bars.Y[i], least)
		}
	}
	for k, x := range got.Series[1].X {
		var i int
		fmt.Sscanf(got.Categories[int(x)], "N%d", &i)
		if i%3 != 0 || got.Series[1].Y[k] != -bars.Y[i]/2 {
			t.Errorf("N%d has the bar of another", i)
		}
	}
	if few := farthest(Chart{Title: "Trims", Categories: c.Categories[:mostBars]}); few.Title != "Trims" {
		t.Errorf("a chart of few is called %q", few.Title)
	}
}

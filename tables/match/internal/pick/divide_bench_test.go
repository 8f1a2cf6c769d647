package pick

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"
)

func BenchmarkDivide(b *testing.B) {
	for _, c := range []struct{ n, d, k, groups int }{
		{20, 6, 8, 2}, {64, 6, 8, 4}, {64, 6, 8, 6}, {64, 12, 8, 8}, {100, 6, 8, 8}, {100, 12, 8, 10}, {200, 6, 8, 16},
	} {
		b.Run(fmt.Sprintf("%d of %d into %d at %d points", c.k, c.n, c.groups, c.d), func(b *testing.B) {
			piles := make([]Matrix, 5)
			for i := range piles {
				piles[i] = randomPile(rand.New(rand.NewPCG(7, uint64(i))), kinds[0], c.n, c.d)
			}
			var nodes, proven int64
			gap := 0.0
			for i := 0; b.Loop(); i++ {
				meter := NewMeter(context.Background(), 500_000_000)
				div := Divide(piles[i%5], c.k, c.groups, nil, nil, meter)
				if div.Proven() {
					proven++
				}
				gap = max(gap, float64(div.Worst-div.Lower)/float64(div.Lower)*100)
				nodes += meter.Nodes
			}
			b.ReportMetric(float64(nodes)/float64(b.N), "nodes/op")
			b.ReportMetric(100*float64(proven)/float64(b.N), "%proven")
			b.ReportMetric(gap, "%gap")
		})
	}
}

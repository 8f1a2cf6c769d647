package pick

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

func BenchmarkBest(b *testing.B) {
	for _, c := range []struct{ n, d, k int }{
		{20, 6, 8}, {100, 12, 8}, {1000, 6, 8}, {1000, 12, 12}, {10_000, 12, 12},
	} {
		for _, kind := range kinds[:3] {
			if kind == "even" && c.n > 1000 {
				continue
			}
			b.Run(fmt.Sprintf("%d of %d at %d points, %s", c.k, c.n, c.d, kind), func(b *testing.B) {
				piles := make([]Matrix, 5)
				for i := range piles {
					piles[i] = randomPile(rand.New(rand.NewPCG(7, uint64(i))), kind, c.n, c.d)
				}
				var nodes int64
				for i := 0; b.Loop(); i++ {
					meter := noLimit()
					if g := Best(piles[i%5], c.k, nil, nil, meter); !g.Proven() || !g.Unique {
						b.Fatalf("not proven: %+v", g)
					}
					nodes += meter.Nodes
				}
				b.ReportMetric(float64(nodes)/float64(b.N), "nodes/op")
			})
		}
	}
}

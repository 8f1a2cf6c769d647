package match

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"
)

// BenchmarkChoose is the whole answer from a checked sheet, seats and noise
// included.
func BenchmarkChoose(b *testing.B) {
	for _, c := range []struct {
		n int
		o Options
	}{
		{20, v8}, {64, v8}, {64, Options{Of: 8, Sets: 6}}, {200, v8}, {1000, v8},
	} {
		b.Run(fmt.Sprintf("%d sets of %d from %d", max(1, c.o.Sets), c.o.Of, c.n), func(b *testing.B) {
			r := rand.New(rand.NewPCG(71, 72))
			sheet := checked(b, newBox(r, c.n).rows(r))
			for b.Loop() {
				if _, err := Choose(context.Background(), sheet, c.o); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

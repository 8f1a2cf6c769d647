package match

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"testing"

	"injtab/fit/bench"
	"injtab/tables/match/internal/pick"
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

// BenchmarkSearch is the search for the best eight and for the next best alone, as a
// solver does it that is told the deviations: of 200 injectors, or of those of the bench
// file that the environment names.
func BenchmarkSearch(b *testing.B) {
	r := rand.New(rand.NewPCG(71, 72))
	c := checked(b, newBox(r, 200).rows(r))
	if path := os.Getenv("INJTAB_PILE"); path != "" {
		c = checkedFile(b, path)
	}
	request, err := read(c, v8)
	if err != nil {
		b.Fatal(err)
	}
	p, err := newPile(c, request)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if o := p.search(pick.NewMeter(context.Background(), defaultWork)); !o.proven {
			b.Fatal("not proven")
		}
	}
}

func checkedFile(b *testing.B, path string) bench.Checked {
	f, err := os.Open(path)
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	s, err := bench.Read(f, path)
	if err != nil {
		b.Fatal(err)
	}
	c, _, err := bench.Check(s)
	if err != nil {
		b.Fatal(err)
	}
	return c
}

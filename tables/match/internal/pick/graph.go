package pick

import (
	"runtime"
	"sync"
)

// A graph lists for each row the rows near it with their distances.
type graph struct {
	start []int32 // the neighbours of i are to[start[i]:start[i+1]]
	to    []int32 // ascending
	gap   []int32 // distance to each; removed marks an edge that no longer counts
}

const (
	removed  = 1<<31 - 1
	maxEdges = 40_000_000 // 320 MB of lists; beyond it no graph is built
)

func (g *graph) near(i int32) ([]int32, []int32) {
	a, b := g.start[i], g.start[i+1]
	return g.to[a:b], g.gap[a:b]
}

type edge struct{ a, b, gap int32 }

// newGraph links the rows whose distance is at most limit and which base, if
// given, all have within limit. It returns nil when there are too many.
func newGraph(f *field, limit int32, allowed []bool, m *Meter) *graph {
	parts := edgesInParts(f, limit, allowed, m)
	degree := make([]int32, f.n+1)
	total := 0
	for _, part := range parts {
		total += len(part)
	}
	if total > maxEdges/2 {
		return nil
	}
	for _, part := range parts {
		for _, e := range part {
			degree[e.a]++
			degree[e.b]++
		}
	}
	g := &graph{start: make([]int32, f.n+1), to: make([]int32, 2*total), gap: make([]int32, 2*total)}
	fill := make([]int32, f.n)
	for i := range f.n {
		g.start[i+1] = g.start[i] + degree[i]
		fill[i] = g.start[i]
	}
	list := func(a, b, gap int32) {
		g.to[fill[a]], g.gap[fill[a]] = b, gap
		fill[a]++
	}
	// Edges come by ascending (a, b) with a < b. Writing all edges that end at
	// a row before those that start there keeps every list ascending.
	for _, part := range parts {
		for _, e := range part {
			list(e.b, e.a, e.gap)
		}
	}
	for _, part := range parts {
		for _, e := range part {
			list(e.a, e.b, e.gap)
		}
	}
	return g
}

// edgesInParts finds the edges on all processors; the parts in order hold them
// in ascending order of both ends.
func edgesInParts(f *field, limit int32, allowed []bool, m *Meter) [][]edge {
	workers := 1
	if f.n >= 512 {
		workers = runtime.GOMAXPROCS(0)
	}
	// More parts than workers, because dense regions take longer.
	count := workers
	if workers > 1 {
		count *= 8
	}
	parts := make([][]edge, count)
	work := make([]int64, count)
	next := make(chan int, count)
	for p := range count {
		next <- p
	}
	close(next)
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			for p := range next {
				parts[p], work[p] = edgesFrom(f, limit, allowed, p*f.n/count, (p+1)*f.n/count)
			}
		})
	}
	wg.Wait()
	for _, w := range work {
		m.spend(w * int64(4+f.d))
	}
	return parts
}

func edgesFrom(f *field, limit int32, allowed []bool, from, to int) (edges []edge, pairs int64) {
	for i := int32(from); i < int32(to); i++ {
		if allowed != nil && !allowed[i] {
			continue
		}
		end := f.first(i) + limit
		for j := i + 1; j < int32(f.n) && f.first(j) <= end; j++ {
			pairs++
			if allowed != nil && !allowed[j] {
				continue
			}
			if gap := f.dist(i, j, limit); gap <= limit {
				edges = append(edges, edge{i, j, gap})
			}
		}
		if len(edges) > maxEdges/2 {
			break
		}
	}
	return edges, pairs
}

package lsq

import (
	"runtime"
	"sync"
)

// A lane is room for the rows of one group. Groups are worked on side by side, as many
// as there are lanes, and what they give is put together in their order, so that the
// result has the same bits on one core as on many.
type lane struct {
	r, work []float64
	jac     []float64 // nil where the Jacobians of all groups are kept
	sum     float64   // weighted sum of squares of the group's residuals
	rows    int       // filled rows of work
}

const (
	laneRows = 1 << 13 // rows that all lanes together may hold, unless one group has more
	worthIt  = 256     // rows of a block from which other cores are called in
)

func newLanes(p *Problem, jacobians bool) []lane {
	most := 0
	for _, m := range p.Groups {
		most = max(most, m)
	}
	cols := p.Local + p.Shared
	lanes := make([]lane, min(max(1, len(p.Groups)), max(1, laneRows/max(1, most))))
	for i := range lanes {
		lanes[i] = lane{r: make([]float64, most), work: make([]float64, (most+2*p.Local)*(cols+1))}
		if jacobians {
			lanes[i].jac = make([]float64, most*cols)
		}
	}
	return lanes
}

// eachGroup calls work for every group with a lane of its own, at the same time for
// groups of one block, and then, in the order of the groups, done.
func (f *fitter) eachGroup(work, done func(l *lane, g int)) {
	for from := 0; from < len(f.p.Groups); from += len(f.lanes) {
		block := f.p.Groups[from:min(from+len(f.lanes), len(f.p.Groups))]
		f.block(from, block, work)
		for i := range block {
			done(&f.lanes[i], from+i)
		}
	}
}

func (f *fitter) block(from int, groups []int, work func(l *lane, g int)) {
	rows := 0
	for _, m := range groups {
		rows += m
	}
	workers := min(runtime.GOMAXPROCS(0), len(groups))
	if workers < 2 || rows < worthIt {
		for i := range groups {
			work(&f.lanes[i], from+i)
		}
		return
	}
	var wait sync.WaitGroup
	for w := range workers {
		wait.Go(func() {
			for i := w; i < len(groups); i += workers {
				work(&f.lanes[i], from+i)
			}
		})
	}
	wait.Wait()
}

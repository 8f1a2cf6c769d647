package pick

import "context"

// A Meter counts the work of a search and stops it. Work is counted, not
// timed, so that a search stopped by its budget gives the same answer on every
// machine; only the context brings time in.
type Meter struct {
	Nodes int64 // branches of the search tree

	ctx     context.Context
	start   int64 // budget; one unit of work is about a nanosecond
	left    int64
	checkAt int64 // what is left when the context is looked at again
	stopped bool
}

const checkEvery = 1 << 20

// NewMeter allows about budget units of work, until ctx is done.
func NewMeter(ctx context.Context, budget int64) *Meter {
	return &Meter{ctx: ctx, start: budget, left: budget, checkAt: budget}
}

// Stopped tells whether budget or context ended the work.
func (m *Meter) Stopped() bool { return m.stopped }

// share makes a meter for a part of the work, which join books.
func (m *Meter) share(budget int64) *Meter {
	part := NewMeter(m.ctx, max(0, min(budget, m.left)))
	part.stopped = m.stopped
	return part
}

func (m *Meter) join(part *Meter) {
	m.Nodes += part.Nodes
	m.spend(part.start - part.left)
}

// spend books work and tells whether the search must stop.
func (m *Meter) spend(work int64) bool {
	m.left -= work
	if m.left <= m.checkAt {
		m.checkAt = m.left - checkEvery
		if m.left >= 0 {
			m.checkAt = max(m.checkAt, -1)
		}
		m.stopped = m.stopped || m.left < 0 || m.ctx.Err() != nil
	}
	return m.stopped
}

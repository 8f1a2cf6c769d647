package tables

import (
	"runtime"
	"slices"
	"sync"
)

// A maker makes tables that no other maker waits for.
type maker func(b *builder) []Table

// sideBySide runs makers at the same time, each with a builder of its own, and puts
// their notes and gains together in the order of the makers, so that the result is the
// same on one core as on many. It returns what each made.
func (b *builder) sideBySide(makers ...maker) [][]Table {
	made, own := make([][]Table, len(makers)), make([]builder, len(makers))
	var wait sync.WaitGroup
	for i, make := range makers {
		own[i] = *b
		own[i].notes, own[i].gains = nil, nil
		wait.Go(func() { made[i] = make(&own[i]) })
	}
	wait.Wait()
	for i := range own {
		b.notes = append(b.notes, own[i].notes...)
		b.gains = append(b.gains, own[i].gains...)
	}
	return made
}

// processors is how many there are for so many pieces of work.
func processors(pieces int) int { return min(runtime.GOMAXPROCS(0), pieces) }

// inStretches does the numbers below n side by side, in stretches of about as many.
func inStretches(n, stretches int, do func(stretch, first, end int)) {
	var wait sync.WaitGroup
	for i := range stretches {
		wait.Go(func() { do(i, i*n/stretches, (i+1)*n/stretches) })
	}
	wait.Wait()
}

// lookedUp are the tables that an ECU looks up, with all digits, and the compact form.
func (b *builder) lookedUp() (tables []Table, compact Table) {
	first := b.sideBySide(
		one((*builder).flow), one((*builder).deadTime),
		one((*builder).shortPulse), (*builder).shortPulseByVoltage,
		one((*builder).trims), one((*builder).trimsByPulse), one((*builder).compact))
	flow, dead, compact := first[0][0], first[1][0], first[6][0]
	tables = slices.Concat(first[:6]...)
	if b.o.Fuel != nil {
		tables = append(tables, b.fuelToPulse(flow.RowAt))
	}
	if b.o.Each {
		tables = append(tables, b.each(flow, dead)...)
	}
	return tables, compact
}

// one is the maker of a single table.
func one(f func(*builder) Table) maker {
	return func(b *builder) []Table { return []Table{f(b)} }
}

package tables_test

import (
	"testing"

	"injtab/fit/sim"
	"injtab/tables"
)

// BenchmarkBuild lays out all tables of the demonstration's bench.
func BenchmarkBuild(b *testing.B) {
	m := fittedSession(b, sim.Demo())
	b.ReportAllocs()
	for b.Loop() {
		if _, err := tables.Build(m, tables.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

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

// BenchmarkVerify proves those tables against all readings, in every way of using them.
func BenchmarkVerify(b *testing.B) {
	m := fittedSession(b, sim.Demo())
	set, err := tables.Build(m, tables.Options{})
	if err != nil {
		b.Fatal(err)
	}
	e, err := tables.NewECU(set.Tables)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := tables.Verify(e, m.Checked, tables.VerifyOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

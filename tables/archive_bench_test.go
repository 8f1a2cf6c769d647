package tables

import "testing"

// BenchmarkBuildArchive lays out the tables of 1,000 injectors.
func BenchmarkBuildArchive(b *testing.B) {
	m, _ := fittedCSV(b, archive(1000, 3))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Build(m, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

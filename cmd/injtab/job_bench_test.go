package main

import (
	"bytes"
	"testing"

	"injtab/fit/sim"
)

// BenchmarkJob is the whole work on the bench file of the demonstration: reading,
// check, sets, fit, tables, proof with a second fit, engine, page and workbook.
func BenchmarkJob(b *testing.B) {
	a := &app{}
	for b.Loop() {
		s, err := checkSession("bench.csv", bytes.NewReader(sim.DemoCSV()))
		if err != nil {
			b.Fatal(err)
		}
		j, err := a.doDemo(s)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := a.demoFiles(j); err != nil {
			b.Fatal(err)
		}
	}
}

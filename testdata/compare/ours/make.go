package main

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"injtab/fit/sim"
)

// makeAll writes the files of the comparison into a folder. All are invented, and the
// same each time.
func makeAll(dir string) error {
	files := map[string]func(io.Writer) error{
		"archive.csv":  func(w io.Writer) error { return writeArchive(w, 1_000_000, 5000) },
		"repeats.csv":  func(w io.Writer) error { return writeArchive(w, 4_000_000, 5000) },
		"growth-3.csv": func(w io.Writer) error { return writeArchive(w, 1_000, 5) },
		"growth-4.csv": func(w io.Writer) error { return writeArchive(w, 10_000, 50) },
		"growth-5.csv": func(w io.Writer) error { return writeArchive(w, 100_000, 500) },
		"session.csv":  writeSession,
		"demo.csv":     func(w io.Writer) error { return second(w.Write(sim.DemoCSV())) },
		"pile-20.csv":  func(w io.Writer) error { return writePile(w, 20) },
		"pile-200.csv": func(w io.Writer) error { return writePile(w, 200) },
	}
	for name, write := range files {
		var b bytes.Buffer
		if err := write(&b); err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(dir, name), b.Bytes(), 0o644); err != nil {
			return err
		}
	}
	return writeBook(filepath.Join(dir, "archive.xlsx"), filepath.Join(dir, "archive.csv"))
}

// writeSession simulates eight injectors mapped at 4 voltages, 3 pressures and 9 pulses.
func writeSession(w io.Writer) error {
	return second(w.Write(sim.MappedPlan(8).Run(sim.ByName("A"), 1).CSV))
}

// writePile writes injectors that differ by a per cent or so, at six points.
func writePile(w io.Writer, injectors int) error {
	rng := rand.New(rand.NewPCG(2, 0))
	fmt.Fprintln(w, "injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v")
	for i := range injectors {
		flow, dead := 240*(1+0.02*rng.NormFloat64()), 0.9*(1+0.03*rng.NormFloat64())
		for _, pulse := range []float64{2, 2.5, 3, 5, 8, 14} {
			ml := 1000 * flow / 60000 * (pulse - dead) * (1 + 0.003*rng.NormFloat64())
			fmt.Fprintf(w, "%d,%g,20,1000,%.2f,300,13.5\n", i+1, pulse, ml)
		}
	}
	return nil
}

// A point is a condition: ms, kPa, V.
type point struct{ pulse, pressure, voltage float64 }

var points = []point{
	{1.6, 300, 13.5}, {2, 300, 13.5}, {2.5, 300, 13.5}, {3, 300, 13.5}, {4, 300, 13.5}, {6, 300, 13.5}, {9, 300, 13.5}, {14, 300, 13.5},
	{2, 300, 12}, {3, 300, 12}, {5, 300, 12}, {10, 300, 12},
	{2.5, 300, 10}, {3.5, 300, 10}, {6, 300, 10}, {12, 300, 10},
	{2, 400, 13.5}, {3, 400, 13.5}, {5, 400, 13.5}, {10, 400, 13.5},
}

const (
	together = 4     // injectors of a run
	period   = 20    // ms
	flow     = 240.0 // ml/min at 300 kPa
	slips    = 5000  // readings for one slip
)

// An injector differs from its family by a factor on flow and one on dead time.
type injector struct{ flow, dead float64 }

// perShot is what it delivers, ml.
func (i injector) perShot(p point) float64 {
	dead := i.dead * (0.35 + 6.5*math.Sqrt(p.pressure/300)/p.voltage)
	open := math.Max(0, p.pulse-dead)
	return flow / 60000 * i.flow * math.Sqrt(p.pressure/300) * (open - 0.12*(1-math.Exp(-open/0.35)))
}

// writeArchive writes many readings: four injectors at a time run at twenty conditions,
// over and over. Each differs from the others in flow and dead time; pressure, supply
// and temperature wander; the vessel is read to 0.1 ml; one reading in five thousand has
// a slipped digit.
func writeArchive(w io.Writer, rows, injectors int) error {
	rng := rand.New(rand.NewPCG(1, 0))
	all := make([]injector, injectors)
	for i := range all {
		all[i] = injector{1 + 0.02*rng.NormFloat64(), 1 + 0.03*rng.NormFloat64()}
	}
	fmt.Fprintln(w, "injector,run,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v,temp_c")
	for n, run := 0, 1; n < rows; run++ {
		seat := (run - 1) / len(points) * together % injectors
		p := points[(run-1)%len(points)]
		set := point{p.pulse, p.pressure + math.Round(5*rng.NormFloat64())/10, p.voltage + math.Round(2*rng.Float64()-1)/100}
		temp := 21 + 2*rng.Float64()
		shots := 3000.0
		if p.pulse > 3 {
			shots = 1000
		}
		for i := seat; i < min(seat+together, injectors) && n < rows; i++ {
			ml := shots * all[i].perShot(set) * (1 + 0.003*rng.NormFloat64())
			if rng.IntN(slips) == 0 {
				ml += 10
			}
			fmt.Fprintf(w, "%d,%d,%g,%d,%.0f,%.1f,%.1f,%.2f,%.1f\n", i+1, run, p.pulse, period, shots, ml, set.pressure, set.voltage, temp)
			n++
		}
	}
	return nil
}

// writeBook writes a CSV file of numbers as a workbook.
func writeBook(book, csv string) error {
	in, err := os.Open(csv)
	if err != nil {
		return err
	}
	defer in.Close()
	out := excelize.NewFile()
	defer out.Close()
	rows, err := out.NewStreamWriter("Sheet1")
	if err != nil {
		return err
	}
	lines := bufio.NewScanner(in)
	for n := 1; lines.Scan(); n++ {
		var cells []any
		for text := range strings.SplitSeq(lines.Text(), ",") {
			if x, err := strconv.ParseFloat(text, 64); err == nil {
				cells = append(cells, x)
			} else {
				cells = append(cells, text)
			}
		}
		if err := rows.SetRow(fmt.Sprintf("A%d", n), cells); err != nil {
			return err
		}
	}
	if err := rows.Flush(); err != nil {
		return err
	}
	return out.SaveAs(book)
}

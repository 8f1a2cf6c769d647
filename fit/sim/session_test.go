package sim

import (
	"bytes"
	"encoding/csv"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"injtab/fit/unit"
)

// perfect is a bench without errors that reads to a thousandth of a millilitre.
func perfect() Bench {
	return Bench{Slots: 4, Capacity: unit.Ml(100), Division: unit.Ml(0.001)}
}

func TestSessionsRepeatBySeed(t *testing.T) {
	for name, run := range map[string]func(Design, uint64) Session{"mapped": Mapped, "sparse": Sparse, "hobby": Hobby} {
		a, b, other := run(ByName("A"), 7), run(ByName("A"), 7), run(ByName("A"), 8)
		if diff := cmp.Diff(a, b); diff != "" {
			t.Errorf("%s: the same seed gives another session:\n%s", name, diff)
		}
		if bytes.Equal(a.CSV, other.CSV) {
			t.Errorf("%s: another seed gives the same session", name)
		}
	}
}

func TestPerfectBenchReadsTheTruth(t *testing.T) {
	p := SparsePlan()
	p.Bench = perfect()
	s := p.Run(ByName("B"), 3)
	for _, r := range s.Rows {
		at := r.Point
		want := s.Units[r.Injector].PerShot(at.Pulse, at.Period, at.Pressure, at.Voltage, 0).Ml() * r.Shots
		near(t, "volume in ml", r.Volume.Ml(), want, 0.0005001)
	}
}

// A gauge that shows 1 % too little lets the bench run at 1 % more, which delivers
// by the orifice law about 0.5 % more; the errors that Session keeps are those.
func TestStayingErrorsAreKept(t *testing.T) {
	p := MappedPlan(2)
	p.Bench = perfect()
	exact := p.Run(ByName("A"), 5)
	p.Bench.PressureLimit, p.Bench.TimerLimit, p.Bench.VoltageLimit, p.Bench.VesselLimit = 0.02, 20e-6, 0.01, unit.Ml(2)
	off := p.Run(ByName("A"), 5)
	if diff := cmp.Diff(exact.Units, off.Units); diff != "" {
		t.Fatalf("another bench measured other units:\n%s", diff)
	}
	e := off.Errors
	for i, r := range off.Rows {
		at := r.Point
		q := off.Units[r.Injector].PerShot(at.Pulse+e.Timer, at.Period,
			at.Pressure*unit.Pressure(1+e.Pressure), at.Voltage*unit.Voltage(1+e.Voltage), 0)
		want := q.Ml() * r.Shots * (1 + float64(e.Vessels[r.Slot-1]))
		near(t, "volume in ml", r.Volume.Ml(), want, 0.0005001)
		if at.Pulse > unit.Ms(7) {
			within(t, "part of the exact reading", float64(r.Volume/exact.Rows[i].Volume), 0.95, 1.05)
		}
	}
}

func TestReadingErrorsAreOfTheBenchsSize(t *testing.T) {
	p := MappedPlan(4)
	s := p.Run(ByName("C"), 11)
	p.Bench = perfect()
	exact := p.Run(ByName("C"), 11)
	var sum, n float64
	for i, r := range s.Rows {
		if r.Volume > unit.Ml(60) {
			e := float64(r.Volume/exact.Rows[i].Volume) - 1
			sum, n = sum+e*e, n+1
		}
	}
	within(t, "root mean square of the relative errors", math.Sqrt(sum/n), 0.003, 0.015)
}

func TestVesselsAreWellFilled(t *testing.T) {
	for _, d := range Designs() {
		s := Mapped(d, 2)
		for _, r := range s.Rows {
			if r.Volume > unit.Ml(100) {
				t.Errorf("%s line %d: %.0f ml in a vessel of 100 ml", d.Name, r.Line, r.Volume.Ml())
			}
			if r.Point.Pulse > unit.Ms(3) && r.Volume < unit.Ml(40) { // shorter ones differ much from unit to unit
				t.Errorf("%s line %d: %.0f ml", d.Name, r.Line, r.Volume.Ml())
			}
		}
	}
}

// The file says what the rows say, at the lines and columns that they name.
func TestFilesHoldTheRows(t *testing.T) {
	long, wide := MappedPlan(3), HobbyPlan()
	long.Gross, wide.Gross = 0.1, 0.1
	for name, s := range map[string]Session{"long": long.Run(ByName("D"), 4), "wide": wide.Run(ByName("D"), 4)} {
		lines := strings.Split(string(s.CSV), "\n")
		header := ""
		for _, line := range lines {
			if !strings.HasPrefix(line, "#") {
				header = line
				break
			}
		}
		for _, r := range s.Rows {
			cell := at(t, header, lines[r.Line-1], r.Column)
			if got := unit.Ml(cell); math.Abs(float64(got-r.Volume)) > 1e-12 {
				t.Errorf("%s line %d column %s: %v ml, want %v", name, r.Line, r.Column, got.Ml(), r.Volume.Ml())
			}
			if shots := at(t, header, lines[r.Line-1], "shots"); math.Abs(shots-r.Shots) > 0.5 {
				t.Errorf("%s line %d: %v shots, want %v", name, r.Line, shots, r.Shots)
			}
		}
	}
}

// at is the number in a column of a line.
func at(t *testing.T, header, line, column string) float64 {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(header + "\n" + line + "\n")).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for i, name := range rows[0] {
		if name == column {
			x, err := strconv.ParseFloat(rows[1][i], 64)
			if err != nil {
				t.Fatal(err)
			}
			return x
		}
	}
	t.Fatalf("no column %s", column)
	return 0
}

func TestGrossErrors(t *testing.T) {
	p := MappedPlan(4)
	if n := len(p.Run(ByName("A"), 1).GrossRows()); n != 0 {
		t.Fatalf("%d gross rows though none were asked for", n)
	}
	p.Gross = 0.1
	s := p.Run(ByName("A"), 1)
	kinds := map[Gross]int{}
	for _, r := range s.GrossRows() {
		kinds[r.Gross]++
		if off := math.Abs(float64(r.Volume/r.Meant) - 1); r.Meant > 0 && off <= grossPart {
			t.Errorf("line %d: %v for %v ml is %.1f %% off", r.Line, r.Volume.Ml(), r.Meant.Ml(), 100*off)
		}
	}
	for k := Digit; k <= Overflow; k++ {
		if kinds[k] == 0 {
			t.Errorf("no %s among %d rows", k, len(s.Rows))
		}
	}
	within(t, "gross part of the rows", float64(len(s.GrossRows()))/float64(len(s.Rows)), 0.05, 0.16)
}

func TestJunkIsJunk(t *testing.T) {
	s := Hobby(ByName("A"), 1)
	if len(s.Troubles) != 5 {
		t.Fatalf("%d troubles, want 5 of 20", len(s.Troubles))
	}
	for _, r := range s.Rows {
		if s.Troubles[r.Injector] == Dead && r.Volume > 0 {
			t.Errorf("dead injector %s delivered %v ml", r.Injector, r.Volume.Ml())
		}
	}
}

func TestReferenceIsInEveryRun(t *testing.T) {
	step := Step{IDs: []string{"1", "2", "3", "4", "5", "6", "7", "8"}, Reference: "3"}
	want := [][]string{{"3", "1", "2", "4"}, {"3", "5", "6", "7"}, {"3", "8"}}
	if diff := cmp.Diff(want, step.batches(4)); diff != "" {
		t.Error(diff)
	}
}

func TestChecksLieBetweenTheMeasuredConditions(t *testing.T) {
	list := ByName("C").Nominal().Truth().Checks()
	within(t, "number of checks", float64(len(list)), 150, 192)
	short := 0
	for _, c := range list {
		if c.Effective < unit.Ms(0.9) {
			t.Errorf("effective pulse of %v ms", c.Effective.Ms())
		}
		if c.Effective < unit.Ms(2) {
			short++
		}
	}
	within(t, "checks below 2 ms effective", float64(short), 60, 120)
}

func BenchmarkMapped(b *testing.B) {
	d := ByName("A")
	for b.Loop() {
		Mapped(d, 1)
	}
}

func BenchmarkChecks(b *testing.B) {
	u := ByName("A").Nominal()
	for b.Loop() {
		u.Truth().Checks()
	}
}

package bench_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"injtab/fit/bench"
	"injtab/fit/unit"
)

// repeating draws readings that differ from the one before in a few things, as those of a
// session do.
func repeating(t *rapid.T, weighed bool) (list []bench.Reading) {
	from := func(values ...float64) float64 { return rapid.SampledFrom(values).Draw(t, "value") }
	name := func(values ...string) string { return rapid.SampledFrom(values).Draw(t, "text") }
	change := []func(r *bench.Reading){
		func(r *bench.Reading) { r.Injector = name("1", "2", "10", "#3", "=4") },
		func(r *bench.Reading) { r.Pulse = unit.Time(from(0.002, 0.003)) },
		func(r *bench.Reading) { r.Period = unit.Time(from(0.01, 0.02)) },
		func(r *bench.Reading) { r.Shots = from(1000, 3000) },
		func(r *bench.Reading) { r.Pressure = unit.Pressure(from(3e5, 4e5)) },
		func(r *bench.Reading) { r.Voltage = unit.Voltage(from(12, 14)) },
		func(r *bench.Reading) { r.Temp = unit.Temperature(from(0, 293.15)) },
		func(r *bench.Reading) { r.Run = name("", "1") },
		func(r *bench.Reading) { r.Slot = name("", "2") },
		func(r *bench.Reading) { r.Vessel = name("", "A") },
		func(r *bench.Reading) { r.Note = name("", "dripped") },
		func(r *bench.Reading) { r.Division = unit.Volume(from(0, 1e-7)) },
		func(r *bench.Reading) { r.Resistance = unit.Resistance(from(0, 14)) },
	}
	var r bench.Reading
	for _, c := range change {
		c(&r)
	}
	for k := range rapid.IntRange(1, 30).Draw(t, "n") {
		r.Line, r.Volume, r.Mass = k+2, unit.Volume(from(0, 8e-6, 9.5e-6)), 0
		if weighed {
			r.Mass = unit.Mass(float64(r.Volume) * 700)
			r.Volume = r.Mass.Of(700)
		}
		list = append(list, r)
		for range rapid.IntRange(0, 2).Draw(t, "changes") {
			rapid.SampledFrom(change).Draw(t, "change")(&r)
		}
	}
	return list
}

// TestReadingsKept: what is kept of readings gives them back as they were, all or some of
// them.
func TestReadingsKept(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := repeating(t, rapid.Bool().Draw(t, "weighed"))
		kept := bench.NewReadings(list...)
		if diff := cmp.Diff(list, kept.List()); diff != "" {
			t.Fatal(diff)
		}
		var odd []bench.Reading
		for k, r := range list {
			if k%2 == 1 {
				odd = append(odd, r)
			}
		}
		if diff := cmp.Diff(odd, kept.Only(func(k int) bool { return k%2 == 1 }).List(), cmpopts.EquateEmpty()); diff != "" {
			t.Fatal(diff)
		}
	})
}

// TestManyRuns: where runs are more than are kept to be found again, each reading still has
// its own.
func TestManyRuns(t *testing.T) {
	var list []bench.Reading
	for k := range 30_000 {
		list = append(list, bench.Reading{Injector: fmt.Sprint(k % 3), Run: fmt.Sprint(k / 3), Slot: fmt.Sprint(k % 5), Note: fmt.Sprint(k / 2), Line: k + 2})
	}
	list = append(list, list[:100]...) // once more, after all others
	if diff := cmp.Diff(list, bench.NewReadings(list...).List()); diff != "" {
		t.Error(diff)
	}
}

// TestReadLike: rows that differ from the one before in some cells are read as rows that
// stand alone.
func TestReadLike(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		weighed := rapid.Bool().Draw(t, "weighed")
		s := bench.Sheet{Readings: bench.NewReadings(repeating(t, weighed)...)}
		if weighed {
			s.Setup.HasFluid, s.Setup.Fluid.Density = true, 700
		}
		s.Setup.RatedPressure = unit.KPa(300)
		if diff := cmp.Diff(s.Readings, written(t, s).Readings, content...); diff != "" {
			t.Fatal(diff)
		}
	})
}

// TestReadsEachRowAsAlone: what stands above a row that it resembles changes nothing of how
// it is read.
func TestReadsEachRowAsAlone(t *testing.T) {
	rows := []string{
		"1,2,20,1000,7.5,300,13.5", "2,2,20,1000,7.6,300,13.5", " 3 ,2,20,1000, 7.7 ,300,13.5", "'#4,2,20,1000,7.8,300,13.5",
		"5,2,20,1000,+7.9,300,13.5", "6,2,20,1000,80e-1,300,13.5", "7,2,20,1000,0,300,13.5", "8,2,20,1000,12345678901234567890e-18,300,13.5",
		"9,2,20,1000,8.1,300,13.5,", "10,2.0,20,1000,8.2,300,13.5", "11,2,20,1000,8.3,300,13.50", "2,2,20,1000,7.6,300,13.5",
	}
	const header = "injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v\n"
	read := func(text string) bench.Readings {
		s, err := bench.Read(strings.NewReader(text), "b.csv")
		if err != nil {
			t.Fatal(err)
		}
		return s.Readings
	}
	all := read(header + strings.Join(rows, "\n"))
	if all.Len() != len(rows) {
		t.Fatalf("%d readings of %d rows", all.Len(), len(rows))
	}
	for k, row := range rows {
		alone := read(header + strings.Repeat("\n", k) + row).At(0)
		if diff := cmp.Diff(alone, all.At(k)); diff != "" {
			t.Errorf("row %q: %s", row, diff)
		}
	}
}

// TestReadsLikeOnlyReadings: a row that resembles one that made no reading does not take its
// conditions from the reading above that.
func TestReadsLikeOnlyReadings(t *testing.T) {
	const header = "injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v\n"
	s, err := bench.Read(strings.NewReader(header+"1,2,20,1000,7.5,300,13.5\n1,4,20,1000,,300,13.5\n2,4,20,1000,15,300,13.5\n"), "b.csv")
	if err != nil {
		t.Fatal(err)
	}
	if got := s.Readings.At(1).Pulse.Ms(); s.Readings.Len() != 2 || math.Abs(got-4) > 1e-9 {
		t.Errorf("%d readings, the last of %g ms, want 2 and 4 ms", s.Readings.Len(), got)
	}
	_, err = bench.Read(strings.NewReader(header+"1,2,20,1000,7.5,300,13.5\n# later,,,,,,\n2,,,,15,,\n"), "b.csv")
	if err == nil || !strings.Contains(err.Error(), "line 4") {
		t.Errorf("an amount alone was read as a reading: %v", err)
	}
}

// TestEachHashIsTold: rows that begin with # are all named, those too that are like the first.
func TestEachHashIsTold(t *testing.T) {
	_, err := bench.Read(strings.NewReader("note,injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v\n"+
		"#n,1,2,20,1000,7.5,300,13.5\n#n,2,2,20,1000,7.6,300,13.5\n,3,2,20,1000,7.7,300,13.5\n"), "b.csv")
	if err == nil || strings.Count(err.Error(), "begins with #") != 2 {
		t.Errorf("want lines 2 and 3 named: %v", err)
	}
	_, err = bench.Read(strings.NewReader("injector,pulse_ms,period_ms,shots,volume_ml,pressure_kpa,voltage_v\n"+
		"#6,2,20,1000,7.5,300,13.5\n1,2,20,1000,7.5,300,13.5\n"), "b.csv")
	if err == nil || !strings.Contains(err.Error(), "line 2") {
		t.Errorf("want line 2 named: %v", err)
	}
}

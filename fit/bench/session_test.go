package bench_test

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"testing"

	"injtab/fit/bench"
	"injtab/fit/unit"
)

// repeated runs six injectors, three a run, through the pulses four times, in every
// slot in turn, so that runs and slots can be told from injectors.
func repeated(change func(run, slot int, r *bench.Reading)) bench.Sheet {
	one := sixPulses(6).readings()
	var list []bench.Reading
	run := 0
	for round := range 4 {
		for p := range 6 {
			for half := range 2 {
				run++
				for k := range 3 {
					slot := (k + round) % 3
					r := one.Readings.At(p*6 + half*3 + k)
					r.Run = fmt.Sprint(run)
					r.Slot = fmt.Sprint(slot + 1)
					r.Line = 2 + len(list)
					change(run, slot+1, &r)
					r.Volume = unit.Ml(math.Round(r.Volume.Ml()*10) / 10)
					list = append(list, r)
				}
			}
		}
	}
	s := one
	s.Readings = bench.NewReadings(list...)
	return s
}

func TestSession(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(run, slot int, r *bench.Reading)
		code   string // "": nothing to tell
		want   string
	}{
		{"clean", func(int, int, *bench.Reading) {}, "", ""},
		{"drift", func(run, _ int, r *bench.Reading) { r.Volume *= unit.Volume(1 - 0.0008*float64(run)) }, "drift", "from run 3 to run 48 the same injectors came to deliver 3.…% less"},
		{"one run", func(run, _ int, r *bench.Reading) {
			if run == 20 {
				r.Volume *= 1.04
			}
		}, "run-off", "line 59: run 20 gave …% more"},
		{"low slot", func(_, slot int, r *bench.Reading) {
			if slot == 2 {
				r.Volume *= 0.97
			}
		}, "slot", "slot 2 gives …% less than the others with the same injectors"},
		{"sag", func(_, _ int, r *bench.Reading) { r.Voltage -= unit.Voltage(0.04 * r.Pulse.Ms()) }, "sag", "falls from 13.44 to 13.1 V"},
		{"temperature", func(run, _ int, r *bench.Reading) { r.Temp = unit.Celsius(18 + float64(run)/4) }, "temperature", "from 18.2 to 30 °C"},
		{"unit", func(_, _ int, r *bench.Reading) { r.Shots *= 100 }, "flow", "4.…ml/min"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := check(t, repeated(c.change))
			if c.code == "" {
				if len(got.Notes()) > 0 {
					t.Errorf("notes %v", got.Notes())
				}
				return
			}
			k := slices.Index(codes(got), c.code)
			if k < 0 || !says(got.Notes()[k].Error(), c.want) {
				t.Errorf("got %v, want %s", got.Notes(), c.want)
			}
			if len(got.Notes()) > 1 {
				t.Errorf("more than one note: %v", got.Notes())
			}
		})
	}
}

// TestSlotOfMembers: twelve injectors that each sat in one slot, those of one slot all
// low.
func TestSlotOfMembers(t *testing.T) {
	r := sixPulses(12)
	s := r.readings(func(r *bench.Reading) {
		n, err := strconv.Atoi(r.Injector)
		if err != nil {
			t.Fatal(err)
		}
		slot := n % 3
		r.Slot = fmt.Sprint(slot + 1)
		if slot == 1 {
			r.Volume *= 0.9
		}
	})
	got := check(t, s)
	if diff := codes(got); !slices.Equal(diff, []string{"slot"}) || !says(got.Notes()[0].Message, "that sat in slot 2 flow …% less") {
		t.Errorf("notes %v", got.Notes())
	}
}

// TestSlotAlone: an injector that alone sat in a slot can't be told from the slot.
func TestSlotAlone(t *testing.T) {
	r := sixPulses(8)
	r.flow["3"] = 370
	got := check(t, r.readings(func(r *bench.Reading) { r.Slot = r.Injector }))
	if reasons := got.Injectors()[2].Reasons; len(reasons) != 2 || !says(reasons[1], "it alone sat in slot 3") {
		t.Errorf("reasons %v", reasons)
	}
}

func TestWrittenTwice(t *testing.T) {
	s := repeated(func(int, int, *bench.Reading) {})
	twice := s.Readings.At(4)
	twice.Line = 200
	other := s.Readings.At(8)
	other.Run = "99"
	got := check(t, with(s, twice, other))
	if len(got.Notes()) != 1 || !says(got.Notes()[0].Error(), "line 200, column volume_ml: the row repeats line 6") {
		t.Errorf("notes %v", got.Notes())
	}
}

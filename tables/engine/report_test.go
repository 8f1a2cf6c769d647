package engine

import (
	"reflect"
	"testing"

	"github.com/google/go-cmp/cmp"

	"injtab/fit/unit"
	"injtab/tables"
)

// sound checks what every export relies on: rows of equal length, names for all,
// numbers in every chart.
func sound(t *testing.T, r tables.Report) {
	t.Helper()
	if r.Title == "" || len(r.Answer) == 0 || len(r.Facts) == 0 || len(r.Next) == 0 || len(r.Cautions) == 0 {
		t.Errorf("report %q lacks a part", r.Title)
	}
	finite(t, "report", reflect.ValueOf(r))
	names := map[string]bool{}
	for _, s := range r.Sections {
		if len(s.Tables) == 0 || len(s.Charts) == 0 {
			t.Errorf("section %s has %d tables and %d charts", s.Name, len(s.Tables), len(s.Charts))
		}
		for _, table := range s.Tables {
			if table.Name == "" || table.Title == "" || names[table.Name] {
				t.Errorf("table %q has no title or comes twice", table.Name)
			}
			names[table.Name] = true
			rows := max(len(table.RowAt), len(table.RowText))
			if table.Rows() == 0 || table.Rows() != rows {
				t.Errorf("table %s: %d rows of cells, %d of names", table.Name, table.Rows(), rows)
			}
			for i, line := range table.Cells {
				if len(line) != len(table.Cols) {
					t.Errorf("table %s, row %d: %d cells for %d columns", table.Name, i, len(line), len(table.Cols))
				}
			}
		}
		for _, c := range s.Charts {
			if c.Alt == "" || c.X.Title == "" || c.Y.Title == "" || len(c.Series) == 0 {
				t.Errorf("chart %s lacks its words", c.Name)
			}
			for _, line := range c.Series {
				if len(line.X) != len(line.Y) || len(line.X) == 0 {
					t.Errorf("chart %s, line %s: %d by %d", c.Name, line.Name, len(line.X), len(line.Y))
				}
			}
		}
	}
}

func TestReports(t *testing.T) {
	staged := smallEngine()
	staged.SecondaryInjectors, staged.SecondaryShare, staged.Title = 3, 0.3, "Invented three"
	for name, in := range map[string]Inputs{"small": smallEngine(), "pump fuel": pumpFuelEngine(t), "fixed": fixedEngine(t), "staged": staged, "bare": {Cylinders: 4, Power: kW(90)}} {
		r, err := Size(in)
		if err != nil {
			t.Fatal(err)
		}
		if name != "bare" { // one chart less where no speed is known
			sound(t, r.Report())
		}
		if again := size(t, in); !cmp.Equal(r.Report(), again.Report()) {
			t.Errorf("%s: two runs differ", name)
		}
		if !given(in.RPM) {
			continue
		}
		in.Flow = unit.MlMin(0.9 * r.InjectorFlow)
		h := headroom(t, in, Target{RPM: in.RPM + 500})
		sound(t, h.Report())
		chart := h.Section().Charts[0]
		if len(chart.Marks) != 1 || !same(chart.Marks[0].At, h.Limit) {
			t.Errorf("%s: the limit is not marked: %v", name, chart.Marks)
		}
	}
}

func BenchmarkSize(b *testing.B) {
	in := smallEngine()
	for b.Loop() {
		if _, err := Size(in); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkHeadroomOfEight(b *testing.B) {
	in := smallEngine()
	in.Flow = unit.MlMin(250)
	sheet, err := in.DataSheet()
	if err != nil {
		b.Fatal(err)
	}
	var set []Injector
	for range 8 {
		set = append(set, sheet)
	}
	for b.Loop() {
		if _, err := Headroom(in, set, Target{RPM: 7000}); err != nil {
			b.Fatal(err)
		}
	}
}

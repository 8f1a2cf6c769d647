package plan

import (
	"slices"
	"strings"
	"testing"

	"injtab/tables"
)

// TestFormsHaveEveryReading: both forms ask for one amount for each reading of the plan,
// and what checks an amount points at it.
func TestFormsHaveEveryReading(t *testing.T) {
	p := usualPlan(t)
	planned := 0
	for _, r := range p.Order {
		planned += len(r.Slots)
	}
	for name, f := range map[string]tables.FillForm{"long": p.Workbook(), "wide": p.WideWorkbook()} {
		sheets := map[string]tables.FormSheet{}
		for _, s := range f.Sheets {
			sheets[s.Name] = s
			for i, row := range s.Rows {
				if len(row) != len(s.Columns) {
					t.Errorf("%s, sheet %s: row %d has %d cells, %d columns", name, s.Name, i, len(row), len(s.Columns))
				}
			}
		}
		empty := 0
		for _, row := range sheets["readings"].Rows {
			for _, c := range row {
				if c.Kind == tables.FormIsInput && c.Numeric && !c.Filled {
					empty++
				}
			}
		}
		if empty != planned {
			t.Errorf("%s: %d amounts to fill in, %d readings planned", name, empty, planned)
		}
		checked := map[tables.FormRef]bool{}
		for _, row := range sheets["check"].Rows {
			of := row[3].Quotient.Of
			checked[of] = true
			if c := sheets["readings"].Rows[of.Row][of.Column]; c.Kind != tables.FormIsInput || c.Filled {
				t.Errorf("%s: the check looks at %+v, which is no amount", name, of)
			}
		}
		if len(checked) != planned {
			t.Errorf("%s: %d amounts are checked of %d", name, len(checked), planned)
		}
	}
}

// TestPlanReport: every point and every run is in it.
func TestPlanReport(t *testing.T) {
	p := usualPlan(t)
	r := p.Report()
	var points, runs int
	for _, s := range r.Sections {
		for _, table := range s.Tables {
			for _, row := range table.Cells {
				if len(row) != len(table.Cols) {
					t.Errorf("section %s: %d cells, %d columns", s.Name, len(row), len(table.Cols))
				}
			}
			switch {
			case s.Name == "points":
				points += table.Rows()
			case strings.Contains(s.Name, "order"):
				runs += table.Rows()
			}
		}
	}
	if points != len(p.Points) || runs != len(p.Order) {
		t.Errorf("%d points of %d, %d runs of %d", points, len(p.Points), runs, len(p.Order))
	}
	if len(r.Answer) == 0 || len(r.Next) == 0 || len(r.Cautions) == 0 || len(r.Facts) == 0 {
		t.Errorf("the report lacks a part: %+v", r)
	}
}

func TestQuotedNames(t *testing.T) {
	if got, want := quoted([]string{"7", "B, left", `3/4"`}), `7,"B, left","3/4"""`; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	if !slices.Contains(strings.Split(quoted([]string{"1", "2"}), ","), "2") {
		t.Error("plain names are not plain")
	}
}

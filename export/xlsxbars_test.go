package export

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"injtab/fit/diag"
	"injtab/tables"
)

// A dead injector among sound ones must not squash their bars; an outlier that they
// can be seen beside stays whole.
func TestBarsAreCutAtADeadInjector(t *testing.T) {
	dev := deviation()
	for _, c := range []struct {
		value, least, most float64
		cut                bool
	}{{-100, -3, 3, true}, {-6.3, -6.3, 2.2, false}} {
		dev.Cells[3][1].Value = c.value
		least, most, cut := heights(dev, []int{1})
		if cut != c.cut || math.Abs(least-c.least) > 1e-9 || math.Abs(most-c.most) > 1e-9 {
			t.Errorf("a bar of %v: %v to %v, cut %v; want %v to %v, %v", c.value, least, most, cut, c.least, c.most, c.cut)
		}
	}
}

// wideTable is one that no page holds: few rows, many columns, most of them empty.
func wideTable() tables.Table {
	t := deviation()
	for c := range 60 {
		t.Cols = append(t.Cols, tables.Column{Name: fmt.Sprintf("%d ms 300 kPa 13.5 V", 20+c), Unit: "%", Decimals: 1})
		for r := range t.Cells {
			cell := none(diag.NotMeasured)
			if (r+c)%4 == 0 {
				cell = value(float64(r*c)/10, 0.1, diag.Measured)
			}
			t.Cells[r] = append(t.Cells[r], cell)
		}
	}
	return t
}

// What is too wide to print is printed turned, each cell once.
func TestAWideTableIsPrintedTurned(t *testing.T) {
	wide := wideTable()
	book := workbookOf(t, tables.Report{Title: "wide", Sections: []tables.Section{{Name: "d", Tables: []tables.Table{wide}}}})
	f, err := excelize.OpenReader(bytes.NewReader(book))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := f.GetRows("deviation", excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	last := rows[len(rows)-len(wide.Cols):]
	for c, col := range wide.Cols {
		if last[c][0] != col.Name {
			t.Fatalf("row %d is of %q, want %q", c, last[c][0], col.Name)
		}
		for r := range wide.Cells {
			got := ""
			if r+1 < len(last[c]) {
				got = last[c][r+1]
			}
			if !sameText(got, cellText(wide, r, c)) {
				t.Errorf("%s of %s: %q, want %q", col.Name, wide.RowText[r], got, cellText(wide, r, c))
			}
		}
	}
	if got, err := f.GetCellFormula("deviation", at(2, len(rows))); err != nil || !strings.Contains(got, "$BL$5") {
		t.Errorf("the last row repeats %q (%v), want a reference to column BL", got, err)
	}
	for _, n := range f.GetDefinedName() {
		if n.Name == "_xlnm.Print_Area" && n.Scope == "deviation" && strings.Contains(n.RefersTo, "$BL$") {
			t.Errorf("the print takes in the wide block: %s", n.RefersTo)
		}
	}
}

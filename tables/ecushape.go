package tables

import (
	"fmt"
	"math"
)

// What no port injector reaches, whatever was edited.
const (
	leastFlow, mostFlow = 0.0, 20000.0 // ml/min
	leastTime, mostTime = -20.0, 50.0  // ms
	leastPct, mostPct   = -90.0, 900.0 // of the effective pulse
	mostAddedTime       = 20.0         // ms
	mostFactor          = 10.0         // of the dead time
)

// shaped refuses tables whose rows are not as long as their header, and axes that do
// not rise.
func shaped(t Table) error {
	if len(t.Cols) == 0 {
		return fmt.Errorf("the table %s has no columns: build the tables again", t.Name)
	}
	names := len(t.RowAt)
	if t.Row.Text {
		names = len(t.RowText)
	}
	if names != len(t.Cells) {
		return fmt.Errorf("the table %s has %d rows and %d names of rows: build the tables again", t.Name, len(t.Cells), names)
	}
	for r, row := range t.Cells {
		if len(row) != len(t.Cols) {
			return fmt.Errorf("the table %s: row %s has %d cells, expected %d: build the tables again", t.Name, rowName(t, r), len(row), len(t.Cols))
		}
	}
	if err := risingAxis(t.Name, t.RowAt); err != nil {
		return err
	}
	if !t.Grid() {
		return nil
	}
	return risingAxis(t.Name, columnsAt(t))
}

func columnsAt(t Table) (at []float64) {
	for _, c := range t.Cols {
		at = append(at, c.At)
	}
	return at
}

func risingAxis(table string, at []float64) error {
	for i, x := range at {
		if !finite(x) {
			return fmt.Errorf("the table %s: a breakpoint is no number: build the tables again", table)
		}
		if i > 0 && x <= at[i-1] {
			return fmt.Errorf("the table %s: the breakpoint %s follows %s: breakpoints must rise", table, number(x), number(at[i-1]))
		}
	}
	return nil
}

// inRange refuses a value that no injector has; least and most are in the cell's unit.
func inRange(t Table, r, c int, least, most float64) error {
	x := t.Cells[r][c].Value
	if !finite(x) || x < least || x > most {
		return fmt.Errorf("the table %s: row %s, column %s is %s, which no injector has: expected %s to %s", t.Name, rowName(t, r), t.Cols[c].Name, number(x), number(least), number(most))
	}
	return nil
}

// readList reads one column over the rows' axis; rows without a value end a look-up
// there. Values up to least are refused where least is 0.
func readList(t Table, column string, least, most float64) (l listTable, err error) {
	if err := shaped(t); err != nil {
		return l, err
	}
	if t.Row.Text {
		return l, fmt.Errorf("the table %s: the first column holds %q, which is no number: build the tables again", t.Name, rowName(t, 0))
	}
	c := columnIndex(t, column)
	if c < 0 {
		return l, fmt.Errorf("the table %s has no column %s: build the tables again", t.Name, column)
	}
	for r, row := range t.Cells {
		if !row[c].Status.HasValue() {
			continue
		}
		if least >= 0 && row[c].Value <= least {
			return l, fmt.Errorf("the table %s: row %s, column %s is %s: it must be above zero", t.Name, rowName(t, r), column, number(row[c].Value))
		}
		if err := inRange(t, r, c, least, most); err != nil {
			return l, err
		}
		l.at, l.values = append(l.at, t.RowAt[r]), append(l.values, row[c].Value)
	}
	if len(l.at) == 0 {
		return l, fmt.Errorf("the table %s has no value in column %s", t.Name, column)
	}
	return l, nil
}

func readGrid(t Table, least, most float64) (g gridTable, err error) {
	if err := shaped(t); err != nil {
		return g, err
	}
	if !t.Grid() || len(t.RowAt) == 0 {
		return g, fmt.Errorf("the table %s is no grid over two axes: build the tables again", t.Name)
	}
	for r, row := range t.Cells {
		for c := range row {
			if !row[c].Status.HasValue() {
				continue
			}
			if err := inRange(t, r, c, least, most); err != nil {
				return g, err
			}
		}
	}
	return gridTable{rows: t.RowAt, cols: columnsAt(t), cells: t.Cells}, nil
}

// rises refuses a correction that falls faster than the pulse rises: two volumes would
// have the same pulse.
func rises(table string, at, values []float64) error {
	for i := 1; i < len(at); i++ {
		if at[i]+values[i] <= at[i-1]+values[i-1] {
			return fmt.Errorf("the table %s: from %s to %s ms the correction falls as fast as the pulse rises, so that two volumes have one pulse: correct these cells", table, number(at[i-1]), number(at[i]))
		}
	}
	return nil
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

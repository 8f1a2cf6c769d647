package tables

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"injtab/fit/unit"
)

// PasteOptions say how a table's numbers are wanted for pasting into another program.
type PasteOptions struct {
	Unit           string        // of the cells: ms, us; ml/min, cc/min, g/min, lb/h; "" as they are
	PressureUnit   string        // of a pressure axis: kPa, bar, psi; "" as it is
	Gauge          unit.Pressure // added to a pressure axis: manifold pressure above the surroundings, for an ECU that looks up rail gauge pressure
	Density        unit.Density  // of what flows, for g/min and lb/h
	Step           float64       // cells are rounded to it; 0: as they are
	Transpose      bool
	ReverseRows    bool
	ReverseColumns bool
	Axes           bool // with the axes; else the cells alone
}

// Paste lays a table's numbers out as lines of texts. An empty cell is an empty text.
func Paste(t Table, o PasteOptions) ([][]string, error) {
	convert, digits, err := o.converter(t)
	if err != nil {
		return nil, err
	}
	var grid [][]string
	for r, row := range t.Cells {
		var line []string
		if o.Axes {
			line = append(line, o.rowName(t, r))
		}
		for c, x := range row {
			switch {
			case t.Cols[c].Text:
				line = append(line, x.Text)
			case !x.Status.HasValue():
				line = append(line, "")
			default:
				line = append(line, o.rounded(convert(t.Cols[c], x.Value), digits(t.Cols[c])))
			}
		}
		grid = append(grid, line)
	}
	if o.ReverseRows {
		slices.Reverse(grid)
	}
	if o.Axes {
		grid = append([][]string{o.header(t)}, grid...)
	}
	if o.ReverseColumns {
		first := 0
		if o.Axes {
			first = 1
		}
		for _, line := range grid {
			slices.Reverse(line[first:])
		}
	}
	if o.Transpose {
		grid = transposed(grid)
	}
	return grid, nil
}

func (o PasteOptions) rounded(x float64, digits int) string {
	if o.Step > 0 {
		x = math.Round(x/o.Step) * o.Step
		for digits = 0; digits < 6 && math.Abs(o.Step*math.Pow(10, float64(digits))-math.Round(o.Step*math.Pow(10, float64(digits)))) > 1e-9; {
			digits++
		}
	}
	return strconv.FormatFloat(x+0, 'f', digits, 64)
}

// converter gives the change of unit for the cells and the digits that it needs.
func (o PasteOptions) converter(t Table) (func(Column, float64) float64, func(Column) int, error) {
	same := func(_ Column, x float64) float64 { return x }
	digits := func(c Column) int { return c.Decimals }
	if o.Unit == "" {
		return same, digits, nil
	}
	for _, c := range t.Cols {
		if c.Text {
			continue
		}
		by, shift, err := o.factor(c.Unit)
		if err != nil {
			return nil, nil, fmt.Errorf("the table %s: %w", t.Name, err)
		}
		return func(_ Column, x float64) float64 { return x * by },
			func(c Column) int { return max(0, c.Decimals-shift) }, nil
	}
	return same, digits, nil
}

// factor turns a number in one unit into another of the same quantity; shift is how
// many digits fewer say as much.
func (o PasteOptions) factor(from string) (by float64, shift int, err error) {
	if _, ok := unit.Times.Lookup(from); ok {
		if u, ok := unit.Times.Lookup(o.Unit); ok {
			by = u.Of(unit.Times.Units[0].SI(1))
			return by, int(math.Round(math.Log10(by))), nil
		}
	}
	if _, ok := unit.VolumeFlows.Lookup(from); ok {
		if u, ok := unit.VolumeFlows.Lookup(o.Unit); ok {
			return u.Of(unit.VolumeFlows.Units[0].SI(1)), 0, nil
		}
		if u, ok := unit.MassFlows.Lookup(o.Unit); ok {
			if o.Density <= 0 {
				return 0, 0, fmt.Errorf("%s needs the density of what flows: name --fuel, or the fluid in the bench file", o.Unit)
			}
			return u.Of(float64(unit.VolumeFlows.Units[0].SI(1)) * float64(o.Density)), 0, nil
		}
	}
	return 0, 0, fmt.Errorf("%s can't be written in %q", from, o.Unit)
}

func (o PasteOptions) axis(c Column, x float64) string {
	if c.Unit == "kPa" {
		p := unit.KPa(x) + o.Gauge
		if u, ok := unit.Pressures.Lookup(o.PressureUnit); ok {
			return number(round(u.Of(float64(p)), 4))
		}
		return number(round(p.KPa(), 4))
	}
	return number(x)
}

func (o PasteOptions) rowName(t Table, r int) string {
	if t.Row.Text {
		return t.RowText[r]
	}
	return o.axis(t.Row, t.RowAt[r])
}

func (o PasteOptions) header(t Table) []string {
	line := []string{t.Corner}
	for _, c := range t.Cols {
		if t.Grid() {
			line = append(line, o.axis(t.Across, c.At))
		} else {
			line = append(line, c.Name)
		}
	}
	return line
}

func transposed(grid [][]string) [][]string {
	if len(grid) == 0 {
		return grid
	}
	out := make([][]string, len(grid[0]))
	for _, line := range grid {
		for c, text := range line {
			out[c] = append(out[c], text)
		}
	}
	return out
}

// TSV joins lines with tabs, ready to paste.
func TSV(grid [][]string) string {
	var b strings.Builder
	for _, line := range grid {
		b.WriteString(strings.Join(line, "\t"))
		b.WriteByte('\n')
	}
	return b.String()
}

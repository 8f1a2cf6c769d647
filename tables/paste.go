package tables

import (
	"cmp"
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
	StepUnit       string        // of Step, as the cells are written; "": that of all cells
	Transpose      bool
	ReverseRows    bool
	ReverseColumns bool
	Axes           bool // with the axes; else the cells alone
}

// Paste lays a table's numbers out as lines of texts. An empty cell is an empty text.
func Paste(t Table, o PasteOptions) ([][]string, error) {
	into, err := o.conversions(t)
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
				line = append(line, into[c].text(x.Value))
			}
		}
		grid = append(grid, line)
	}
	if o.ReverseRows {
		slices.Reverse(grid)
	}
	if o.Axes {
		grid = append([][]string{o.header(t, into)}, grid...)
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

// text is a cell as it is pasted.
func (c conversion) text(x float64) string {
	x, digits := x*c.by, c.digits
	if c.step > 0 {
		x = math.Round(x/c.step) * c.step
		digits = fewestDigits([]float64{c.step}, 6)
	}
	return strconv.FormatFloat(x+0, 'f', digits, 64)
}

// A conversion is what becomes of the cells of one column.
type conversion struct {
	by     float64
	digits int
	unit   string // the one that was asked for, "" where the column keeps its own
	step   float64
}

// conversions are those of each column. Columns of another quantity stay as they are,
// but one at the least must be of the unit's.
func (o PasteOptions) conversions(t Table) ([]conversion, error) {
	list := make([]conversion, len(t.Cols))
	var wrong error
	done := o.Unit == ""
	for i, c := range t.Cols {
		list[i] = conversion{by: 1, digits: c.Decimals}
		if c.Text || o.Unit == "" {
			continue
		}
		by, shift, err := o.factor(c.Unit)
		if err != nil {
			wrong = cmp.Or(wrong, err)
			continue
		}
		list[i], done = conversion{by: by, digits: max(0, c.Decimals-shift), unit: o.Unit}, true
	}
	if !done && wrong != nil {
		return nil, fmt.Errorf("the table %s: %w", t.Name, wrong)
	}
	return list, o.setSteps(t, list)
}

// setSteps gives the columns that the step is for their step.
func (o PasteOptions) setSteps(t Table, list []conversion) error {
	none := o.Step > 0
	for i, c := range t.Cols {
		if !c.Text && (o.StepUnit == "" || strings.EqualFold(o.StepUnit, cmp.Or(list[i].unit, c.Unit))) {
			list[i].step, none = o.Step, false
		}
	}
	if none {
		return fmt.Errorf("the table %s has no numbers in %s to round", t.Name, o.StepUnit)
	}
	return nil
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

// header is the first line with the axes: names as in the files, except where a number
// is in another unit than they say.
func (o PasteOptions) header(t Table, into []conversion) []string {
	line := []string{o.pressureName(t.Corner)}
	for i, c := range t.Cols {
		switch {
		case t.Grid():
			line = append(line, o.axis(t.Across, c.At))
		case into[i].unit != "":
			line = append(line, c.Title+", "+into[i].unit)
		default:
			line = append(line, c.Name)
		}
	}
	return line
}

// pressureName puts the unit of a pressure axis into its name.
func (o PasteOptions) pressureName(name string) string {
	if u, ok := unit.Pressures.Lookup(o.PressureUnit); ok {
		return strings.Replace(name, "pressure_kpa", "pressure_"+strings.ToLower(u.Symbol), 1)
	}
	return name
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

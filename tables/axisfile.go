package tables

import (
	"fmt"
	"io"
	"math"
	"strings"

	"injtab/fit/diag"
	"injtab/fit/unit"
)

// ReadAxes reads a file with the axes that an ECU has: one axis a line, its name, a
// colon and the values between commas, semicolons, tabs or blanks. Lines that begin
// with # are remarks.
//
//	voltage_v: 8, 9, 10, 11, 12, 13, 14, 15, 16
//	pressure_kpa: 200, 300, 400
//	effective_ms: 0.5; 0.8; 1.2; 2; 5; 12
//
// Names may end in any unit of their quantity (pressure_bar, effective_us). An error
// names the line, what was read and what to do.
func ReadAxes(r io.Reader, name string, o *Options) error {
	text, err := io.ReadAll(io.LimitReader(r, mostAxisBytes+1))
	switch {
	case err != nil:
		return diag.Fail(diag.Place{File: name}, "unreadable", "the file can't be read: %v", err)
	case len(text) > mostAxisBytes:
		return diag.Fail(diag.Place{File: name}, "too_large", "this file is larger than %d MB, which no file of axes is", mostAxisBytes>>20)
	}
	seen := map[string]bool{}
	line := 0
	for written := range strings.Lines(strings.TrimPrefix(string(text), "\ufeff")) {
		line++
		text := strings.TrimSpace(written)
		if text == "" || strings.HasPrefix(text, "#") {
			continue
		}
		at := diag.Place{File: name, Line: line}
		key, values, ok := strings.Cut(text, ":")
		if !ok {
			return diag.Fail(at, "axis_line", "%q has no colon: write an axis as `voltage_v: 8, 10, 12`", text)
		}
		if err := setAxis(strings.ToLower(strings.TrimSpace(key)), values, o, seen); err != nil {
			return diag.Fail(at, "axis", "%v", err)
		}
	}
	if len(seen) == 0 {
		return diag.Fail(diag.Place{File: name}, "no_axis", "no axis was found: write lines such as `voltage_v: 8, 10, 12`")
	}
	return nil
}

const mostAxisBytes = 1 << 20

// setAxis takes one line of the file.
func setAxis(key, values string, o *Options, seen map[string]bool) error {
	a, ok := findAxis(key, o)
	if !ok {
		return fmt.Errorf("%q is no axis: use voltage_v, pressure_kpa (or _bar, _psi) or effective_ms (or _us)", key)
	}
	if seen[a.quantity] {
		return fmt.Errorf("the axis %s is there twice: keep one", a.quantity)
	}
	seen[a.quantity] = true
	at, err := a.values(values)
	if err != nil {
		return fmt.Errorf("axis %s: %w", key, err)
	}
	*a.to = AxisSpec{Values: at, Count: a.to.Count, Round: a.to.Round}
	return a.to.Check(fmt.Sprintf("axis %s in %s", a.quantity, a.base.Symbol), a.physical.least, a.physical.most)
}

// A fileAxis is an axis of the file: where it goes, the unit it is written in and the
// one that tables have.
type fileAxis struct {
	quantity string
	to       *AxisSpec
	in, base unit.Unit
	physical span
}

// findAxis finds the axis that a name such as pressure_bar stands for.
func findAxis(key string, o *Options) (a fileAxis, ok bool) {
	quantity, suffix, _ := strings.Cut(key, "_")
	a.quantity = quantity
	switch quantity {
	case "voltage":
		a.to, a.base, a.physical = &o.Voltage, unit.Voltages.Units[0], voltageSpan
		a.in, ok = unit.Voltages.BySuffix("_" + suffix)
	case "pressure":
		a.to, a.base, a.physical = &o.Pressure, unit.Pressures.Units[0], pressureSpan
		a.in, ok = unit.Pressures.BySuffix("_" + suffix)
	case "effective":
		a.to, a.base, a.physical = &o.Pulse, unit.Times.Units[0], pulseSpan
		a.in, ok = unit.Times.BySuffix("_" + suffix)
	}
	return a, ok
}

// values reads plain numbers and gives them in the unit that tables have.
func (a fileAxis) values(text string) (at []float64, err error) {
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(",; \t", r) }) {
		x, err := unit.Number(word)
		if err != nil {
			return nil, fmt.Errorf("%w: write plain numbers in the unit that its name ends with", err)
		}
		if x = a.base.Of(a.in.SI(x)); math.IsInf(x, 0) {
			return nil, fmt.Errorf("%s is too large", word)
		}
		at = append(at, x)
	}
	if len(at) == 0 {
		return nil, fmt.Errorf("it has no values: write them after the colon")
	}
	return at, nil
}

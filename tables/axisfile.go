package tables

import (
	"bufio"
	"fmt"
	"io"
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
	scan := bufio.NewScanner(io.LimitReader(r, mostAxisBytes))
	seen := map[string]bool{}
	line := 0
	for scan.Scan() {
		line++
		text := strings.TrimSpace(strings.TrimPrefix(scan.Text(), "\ufeff"))
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
	if err := scan.Err(); err != nil {
		return diag.Fail(diag.Place{File: name, Line: line + 1}, "axis_line", "the line is too long for an axis: write one axis a line")
	}
	if len(seen) == 0 {
		return diag.Fail(diag.Place{File: name}, "no_axis", "no axis was found: write lines such as `voltage_v: 8, 10, 12`")
	}
	return nil
}

const mostAxisBytes = 1 << 20

func setAxis(key, values string, o *Options, seen map[string]bool) error {
	quantity, suffix, _ := strings.Cut(key, "_")
	var to *AxisSpec
	var in, base unit.Unit
	ok := false
	switch quantity {
	case "voltage":
		to, base = &o.Voltage, unit.Voltages.Units[0]
		in, ok = unit.Voltages.BySuffix("_" + suffix)
	case "pressure":
		to, base = &o.Pressure, unit.Pressures.Units[0]
		in, ok = unit.Pressures.BySuffix("_" + suffix)
	case "effective":
		to, base = &o.Pulse, unit.Times.Units[0]
		in, ok = unit.Times.BySuffix("_" + suffix)
	}
	if !ok {
		return fmt.Errorf("%q is no axis: use voltage_v, pressure_kpa (or _bar, _psi) or effective_ms (or _us)", key)
	}
	if seen[quantity] {
		return fmt.Errorf("the axis %s is there twice: keep one", quantity)
	}
	seen[quantity] = true
	to.Values = nil
	for _, text := range strings.FieldsFunc(values, func(r rune) bool { return strings.ContainsRune(",; \t", r) }) {
		x, err := unit.Number(text)
		if err != nil {
			return fmt.Errorf("axis %s: %w: write plain numbers in the unit that its name ends with", key, err)
		}
		to.Values = append(to.Values, base.Of(in.SI(x)))
	}
	if len(to.Values) == 0 {
		return fmt.Errorf("the axis %s has no values: write them after the colon", key)
	}
	return nil
}

package export

import (
	"strconv"
	"strings"

	"injtab/fit/diag"
	"injtab/tables"
)

// labels are columns that hold names even where all of them look like numbers.
var labels = map[string]bool{"injector": true, "cylinder": true, "verdict": true, "note": true}

// suffixes end the names of columns that hold quantities; beside each the unit for
// people and its UCUM code. A test holds the list to the units of the program,
// which files are read without.
var suffixes = [][3]string{ // a longer one before those it ends in
	{"_ml_min", "ml/min", "mL/min"}, {"_g_min", "g/min", "g/min"}, {"_kg_m3", "kg/m3", "kg/m3"}, {"_l_h", "l/h", "L/h"},
	{"_kpa", "kPa", "kPa"}, {"_bar", "bar", "bar"}, {"_psi", "psi", "[psi]"}, {"_ohm", "ohm", "Ohm"}, {"_pct", "%", "%"},
	{"_min", "min", "min"}, {"_ms", "ms", "ms"}, {"_us", "us", "us"}, {"_hz", "Hz", "Hz"}, {"_kw", "kW", "kW"},
	{"_ml", "ml", "mL"}, {"_cc", "cc", "cm3"}, {"_mg", "mg", "mg"}, {"_s", "s", "s"}, {"_v", "V", "V"},
	{"_l", "l", "L"}, {"_g", "g", "g"}, {"_c", "C", "Cel"}, {"_f", "F", "[degF]"},
}

// unitOf gives the unit that a column's name ends in, for people and as UCUM code;
// both are empty if it ends in none.
func unitOf(name string) (symbol, ucum string) {
	for _, s := range suffixes {
		if strings.HasSuffix(name, s[0]) {
			return s[1], s[2]
		}
	}
	return "", ""
}

// named is a column whose unit its name gives.
func named(name string) tables.Column {
	symbol, ucum := unitOf(name)
	return tables.Column{Name: name, Unit: symbol, UCUM: ucum}
}

// table turns the cells into numbers and texts.
func (s sheet) table() (tables.Table, error) {
	t := tables.Table{Name: stem(s.file), Corner: unguard(strings.TrimSpace(s.header.cells[0]))}
	rowName, acrossName, _ := strings.Cut(t.Corner, `\`)
	if acrossName == "" && s.numbersAcross() {
		acrossName = "across"
	}
	t.Row = named(rowName)
	t.Across = named(acrossName)
	if err := s.readRows(&t); err != nil {
		return tables.Table{}, err
	}
	for i := 1; i < len(s.header.cells); i++ {
		if err := s.readColumn(&t, i); err != nil {
			return tables.Table{}, err
		}
	}
	if acrossName == "" {
		t.Across = tables.Column{}
	}
	return t, nil
}

func (s sheet) numbersAcross() bool {
	for _, h := range s.header.cells[1:] {
		if _, _, ok := s.number(h); !ok {
			return false
		}
	}
	return true
}

// readRows takes the first column: names, or breakpoints that rise.
func (s sheet) readRows(t *tables.Table) error {
	t.Row.Text = s.isText(0, t.Row.Name)
	t.Cells = make([][]tables.Cell, len(s.lines))
	for i, l := range s.lines {
		if t.Row.Text {
			t.RowText = append(t.RowText, unguard(l.cells[0]))
			continue
		}
		x, digits, ok := s.number(l.cells[0])
		if !ok {
			return s.fail(l.number, t.Corner, "not_a_number", "read %q, expected a number", shown(l.cells[0]))
		}
		if n := len(t.RowAt); n > 0 && x <= t.RowAt[n-1] {
			return s.fail(l.number, t.Corner, "not_rising", "read %s after %s: the values of the first column must rise from line to line",
				shown(l.cells[0]), shown(s.lines[i-1].cells[0]))
		}
		t.RowAt = append(t.RowAt, x)
		t.Row.Decimals = max(t.Row.Decimals, digits)
	}
	return nil
}

// readColumn takes one further column, of which a grid needs the breakpoint.
func (s sheet) readColumn(t *tables.Table, i int) error {
	col := named(unguard(strings.TrimSpace(s.header.cells[i])))
	if t.Grid() {
		x, digits, ok := s.number(col.Name)
		if !ok {
			return s.fail(s.header.number, col.Name, "not_a_number", "read %q, expected a number in the header of this grid", shown(col.Name))
		}
		if n := len(t.Cols); n > 0 && x <= t.Cols[n-1].At {
			return s.fail(s.header.number, col.Name, "not_rising", "read %s after %s: the header's values must rise from left to right", shown(col.Name), t.Cols[n-1].Name)
		}
		if s.comma {
			col.Name = strings.Replace(col.Name, ",", ".", 1)
		}
		col.At, t.Across.Decimals = x, max(t.Across.Decimals, digits)
	} else {
		col.Text = s.isText(i, col.Name)
	}
	for r, l := range s.lines {
		cell, digits, ok := s.cell(l.cells[i], col.Text)
		if !ok {
			return s.fail(l.number, col.Name, "not_a_number", "read %q, expected a number or an empty cell", shown(l.cells[i]))
		}
		col.Decimals = max(col.Decimals, digits)
		t.Cells[r] = append(t.Cells[r], cell)
	}
	t.Cols = append(t.Cols, col)
	return nil
}

func (s sheet) cell(text string, isText bool) (cell tables.Cell, digits int, ok bool) {
	if isText {
		return tables.Cell{Text: unguard(text)}, 0, true
	}
	if strings.TrimSpace(text) == "" {
		return tables.Cell{Status: diag.NotMeasured}, 0, true
	}
	x, digits, ok := s.number(text)
	return tables.Cell{Value: x}, digits, ok
}

// isText tells whether a column holds names: those we know, and any other without
// a unit in its name of which no cell is a number.
func (s sheet) isText(column int, name string) bool {
	if labels[name] {
		return true
	}
	if symbol, _ := unitOf(name); symbol != "" {
		return false
	}
	texts := 0
	for _, l := range s.lines {
		if _, _, ok := s.number(l.cells[column]); ok {
			return false
		}
		if strings.TrimSpace(l.cells[column]) != "" {
			texts++
		}
	}
	return texts > 0
}

// number reads a plain decimal number and counts its digits after the point.
func (s sheet) number(text string) (x float64, digits int, ok bool) {
	text = strings.TrimSpace(text)
	if s.comma {
		text = strings.Replace(text, ",", ".", 1)
	}
	if !isNumber(text) {
		return 0, 0, false
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return 0, 0, false
	}
	mantissa, exponent, _ := strings.Cut(strings.ToLower(text), "e")
	_, after, _ := strings.Cut(mantissa, ".")
	shift, _ := strconv.Atoi(exponent) // 0 where there is none
	return x, min(max(len(after)-shift, 0), 20), true
}

// shown makes what was read fit for a message.
func shown(s string) string { return shorten(clean(s), 40) }

package bench

import (
	"slices"
	"strings"
)

// notData refuses rows that belong to no reading but look as if they did, each with
// one sentence where every cell would complain: a header in the middle, the units in
// a row of their own, sums and means.
func (p *parser) notData(cells []string, line int) bool {
	switch {
	case p.repeatsHeader(cells):
		p.fail(p.at(line, ""), "header-again", "the row repeats the header: delete it; of two tables make two files")
	case line <= p.header.line+2 && unitsOnly(cells):
		p.fail(p.at(line, ""), "units-row", "the row holds units and no reading: write each unit into the header, such as pulse_ms, and delete the row")
	case p.sumOrMean(cells):
		p.fail(p.at(line, ""), "summary-row", "the row has an amount, but nothing of how it was measured: if it is a sum or a mean, delete it; if it is a reading, fill in its cells")
	default:
		return false
	}
	return true
}

// repeatsHeader compares the cells that are filled.
func (p *parser) repeatsHeader(cells []string) bool {
	same := 0
	for i, c := range cells {
		if i >= len(p.header.cells) || !strings.EqualFold(trim(c), trim(p.header.cells[i])) {
			return false
		}
		if trim(c) != "" && !p.cols[i].wide {
			same++
		}
	}
	return same > 1
}

var unitNames = []string{"ms", "us", "µs", "s", "min", "hz", "ml", "cc", "g", "mg", "kpa", "bar", "psi", "v", "c", "°c", "f", "°f", "ohm", "text", "count", "-"}

// judgeTurned puts one sentence in place of what a table turned on its side makes of
// a header: the names of the columns stand below one another.
func (p *parser) judgeTurned(src source) {
	for range 2 {
		cells, _, _, err := src.next()
		if err != nil || len(cells) == 0 {
			return
		}
		if _, ok := lookup(trim(cells[0])); !ok {
			return
		}
	}
	p.errs = nil
	p.fail(p.at(p.header.line, ""), "turned", "the table is turned on its side: the names of the quantities stand below one another; give each quantity a column and each reading a row (spreadsheets paste transposed)")
}

// unitsOnly tells whether a row has two units or more and nothing else.
func unitsOnly(cells []string) bool {
	found := 0
	for _, c := range cells {
		c = strings.ToLower(strings.Trim(trim(c), "[]()"))
		if c == "" {
			continue
		}
		if !slices.Contains(unitNames, c) {
			return false
		}
		found++
	}
	return found > 1
}

// sumOrMean tells whether only the amount of a reading is there, where columns say
// more of it.
func (p *parser) sumOrMean(cells []string) bool {
	for _, i := range p.conditions {
		if i < len(cells) && trim(cells[i]) != "" {
			return false
		}
	}
	return len(p.conditions) > 2 && p.hasAmount(cells)
}

var conditions = []field{pulse, period, frequency, shots, duration, pressure, voltage}

func (p *parser) hasAmount(cells []string) bool {
	return slices.ContainsFunc(p.amounts, func(i int) bool { return i < len(cells) && trim(cells[i]) != "" })
}

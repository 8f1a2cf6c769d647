package bench

import (
	"fmt"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"
)

// A column of the file at hand.
type column struct {
	match
	header string // as written
	shown  string // as messages name it
	skip   bool   // no header and, so far, no cell
	wide   bool   // an injector of a wide table

	empty    bool   // the cell of the row before
	last     []byte // the cell last read, and what it was read as
	lastNum  float64
	lastText string
	told     int               // texts that were not read before
	texts    map[string]string // read before, by cell; nil once there are too many
}

const (
	longestHeader = 40
	surely        = 12 // score of four columns named rightly: no later row is the header
)

// headerScore says how much a row looks like the header.
func headerScore(cells []string) int {
	score := 0
	for _, c := range cells {
		c = strings.TrimSpace(c)
		if _, isNumber := parseDecimal(c); isNumber || len(c) > longestHeader {
			continue
		}
		if _, ok := lookup(c); ok {
			score += 3
		} else if _, ok := stem(c); ok {
			score += 2
		} else if name, ok := nearest(c); ok && len(name) > 5 {
			score++
		}
	}
	return score
}

// readHeader takes the rows above the data: setup lines, titles and, last, the
// header.
func (p *parser) readHeader(rows []row) {
	p.header = rows[len(rows)-1]
	for _, r := range rows[:len(rows)-1] {
		p.readTop(r)
	}
	p.setup.apply(p)
	for i, text := range p.header.cells {
		c := p.newColumn(i, strings.TrimSpace(text))
		p.cols = append(p.cols, c)
		if !c.skip && !c.wide && slices.Contains(conditions, c.field) {
			p.conditions = append(p.conditions, i)
		}
	}
	p.judgeColumns()
}

// readTop takes a row above the header: a setup line, a remark or a title. A row
// that looks like a setting but is not marked as one would be lost silently.
func (p *parser) readTop(r row) {
	if strings.HasPrefix(r.raw, "#") {
		p.setup.addLine(p, strings.TrimLeft(r.raw, "# "), r.line)
		return
	}
	if key, _, ok := strings.Cut(r.raw, "="); ok && p.refuseUnlike(strings.TrimSpace(key), r.line, "a setup line begins with #: write one before the name") {
		return
	}
	for i, c := range r.cells {
		if _, isNumber := parseDecimal(strings.TrimSpace(c)); isNumber {
			p.fail(p.at(r.line, p.letter(i)), "above-header", "%q stands above the header row: write it as a setup line, such as # pressure_kpa = 300, or delete it", strings.TrimSpace(c))
			return
		}
	}
}

// letter names a column by its place, for want of a header.
func (p *parser) letter(i int) string {
	name, err := excelize.ColumnNumberToName(i + 1)
	if err != nil {
		return ""
	}
	return name
}

func (p *parser) newColumn(i int, header string) column {
	c := column{header: header, shown: header}
	switch {
	case p.lettered && header != "":
		c.shown = header + " (" + p.letter(i) + ")"
	case header == "":
		c.shown, c.skip = p.letter(i), true
		return c
	}
	c.header = unprotect(header)
	m, known := lookup(header)
	c.match, c.wide = m, !known || p.setup.lists(c.header)
	return c
}

// judgeColumns refuses columns that are doubled, unknown or missing.
func (p *parser) judgeColumns() {
	long := p.base.has(injector)
	for _, c := range p.cols {
		long = long || !c.skip && !c.wide && c.field == injector
	}
	var seen [fields]string
	injectors := map[string]bool{}
	for i, c := range p.cols {
		switch {
		case c.skip:
		case c.wide && long:
			p.unknownColumn(c, &seen)
		case c.wide:
			p.judgeInjector(c, injectors, &seen)
			p.cols[i].match, _ = p.setup.reading()
			p.amounts = append(p.amounts, i)
		default:
			p.judgeTwice(c, &seen)
		}
	}
	p.wide = !long
	p.judgeAmount(&seen)
	p.judgeInjectorList()
	p.judgeMissing(&seen)
	p.findAmount()
}

// findAmount settles which columns hold what was delivered.
func (p *parser) findAmount() {
	p.amountField = volume
	for i, c := range p.cols {
		if c.skip || c.field != volume && c.field != mass {
			continue
		}
		p.amountField = c.field
		if !c.wide {
			p.amounts = []int{i}
		}
	}
	if p.base.has(mass) {
		p.amountField = mass
	}
	needs := p.amountField == mass || p.divisionIsMass
	if needs && !p.setup.setup.HasFluid {
		p.fail(p.at(p.header.line, ""), "missing-fluid", "amounts are in grams but the fluid is not known: add a setup line such as # fluid = n-heptane or # density_kg_m3 = 684")
	}
}

func (p *parser) unknownColumn(c column, seen *[fields]string) {
	at := p.at(p.header.line, c.shown)
	if s, ok := findSlip(c.header); ok {
		seen[s.meant] = c.header
		p.fail(at, s.code, "%s", s.problem)
		return
	}
	p.fail(at, "unknown-column", "%q is no column of a bench file: delete it, or put remarks under note%s", c.header, p.known())
}

// known lists all columns, once in a file.
func (p *parser) known() string {
	if p.listed {
		return ""
	}
	p.listed = true
	return "; known are " + allHeaders
}

var allHeaders = func() string {
	var names []string
	for _, k := range kinds {
		names = append(names, strings.Join(k.headers(), "|"))
	}
	return strings.Join(names, ", ")
}()

// judgeInjector refuses a column of a wide table that may be a slip of the pen for
// a quantity: its numbers would be taken for deliveries.
func (p *parser) judgeInjector(c column, injectors map[string]bool, seen *[fields]string) {
	at := p.at(p.header.line, c.shown)
	if injectors[c.header] {
		p.fail(at, "duplicate-column", "injector %q has two columns: give each its own name, or delete one", c.header)
	}
	injectors[c.header] = true
	if p.setup.lists(c.header) {
		return
	}
	if summary(c.header) {
		p.fail(at, "summary-name", "a column %q would be counted as an injector: if it is a sum or a mean, delete it; if not, list all injectors in a setup line: # injectors = %s, …", c.header, c.header)
		return
	}
	remedy := "If it is an injector, list all injectors in a setup line: # injectors = " + c.header + ", …"
	if s, ok := findSlip(c.header); ok {
		seen[s.meant] = c.header
		p.fail(at, s.code, "%s", sentences(s.problem, remedy))
	} else if suffix, ok := unitSuffix(c.header); ok {
		p.fail(at, "unknown-column", "%q ends in the unit %s but is no column of a bench file%s. %s", c.header, suffix, p.known(), remedy)
	}
}

func sentences(first, second string) string {
	if strings.HasSuffix(first, "?") {
		return first + " " + second
	}
	return first + ". " + second
}

// judgeTwice refuses two columns, or a column and a setup line, for one quantity.
func (p *parser) judgeTwice(c column, seen *[fields]string) {
	at := p.at(p.header.line, c.shown)
	same := []field{c.field}
	if other, ok := insteadOf[c.field]; ok {
		same = append(same, other)
	}
	for _, f := range same {
		if strings.EqualFold(seen[f], c.header) {
			p.fail(at, "duplicate-column", "two columns are called %s: keep one of them", c.header)
			return
		}
		if seen[f] != "" {
			p.fail(at, "duplicate-column", "%s and %s say the same thing: keep one of the two columns", seen[f], c.header)
			return
		}
		if p.base.has(f) {
			where := fmt.Sprintf("a setup line (line %d)", p.placed[f].Line)
			if sheet := p.placed[f].Sheet; sheet != p.sheet {
				where = fmt.Sprintf("sheet %s, line %d", sheet, p.placed[f].Line)
			}
			p.fail(at, "duplicate-column", "%s is also in %s: keep one of the two", c.header, where)
			return
		}
	}
	seen[c.field] = c.header
	p.shown[c.field] = c.shown
	if c.field == division {
		p.divisionIsMass = c.mass
	}
}

// insteadOf pairs the fields of which a file has one or the other.
var insteadOf = map[field]field{period: frequency, frequency: period, shots: duration, duration: shots, volume: mass, mass: volume}

func (p *parser) judgeAmount(seen *[fields]string) {
	if !p.wide || len(p.amounts) == 0 {
		return
	}
	for _, f := range []field{volume, mass} {
		if seen[f] != "" && seen[injector] == "" && p.shown[f] != "" {
			p.fail(p.at(p.header.line, seen[f]), "mixed-form", "%s and a column for each injector (%s) do not go together: add a column injector, or delete %s", seen[f], p.cols[p.amounts[0]].header, seen[f])
		}
	}
}

// judgeInjectorList holds a list of injectors in the setup against a wide header.
func (p *parser) judgeInjectorList() {
	for _, id := range p.setup.injectors {
		found := slices.ContainsFunc(p.cols, func(c column) bool { return c.wide && c.header == id })
		if p.wide && !found {
			p.fail(p.setup.injectorsAt, "injectors", "injector %q is listed but no column has this name: correct the list or the header", id)
		}
	}
}

// judgeMissing tells which of the required columns neither the header nor a setup
// line gives.
func (p *parser) judgeMissing(seen *[fields]string) {
	at := p.at(p.header.line, "")
	have := func(fs ...field) bool {
		return slices.ContainsFunc(fs, func(f field) bool { return seen[f] != "" || p.base.has(f) || p.placed[f].Line > 0 })
	}
	need := func(example string, fs ...field) {
		if have(fs...) {
			return
		}
		var choice []string
		for _, f := range fs {
			choice = append(choice, kinds[f].headers()...)
		}
		p.fail(at, "missing-column", "%s is missing: add a column %s, or a setup line such as # %s", kinds[fs[0]].name, orList(choice), example)
	}
	need("pulse_ms = 2.5", pulse)
	need("period_ms = 10", period, frequency)
	need("shots = 1000", shots, duration)
	need("pressure_kpa = 300", pressure)
	need("voltage_v = 13.5", voltage)
	if !p.wide {
		need("volume_ml = 50", volume, mass)
	} else if len(p.amounts) == 0 {
		p.fail(at, "missing-column", "there is no injector: add a column injector with what is written on each, or give each injector a column of its own")
	}
}

package bench

import (
	"strings"
	"unsafe"

	"injtab/fit/unit"
)

// A draft is a reading in the making: the fields of a row over those of the setup.
type draft struct {
	num  [fields]float64 // SI
	text [fields]string
	mask uint32 // which fields are filled
}

func (d *draft) has(f field) bool { return d.mask&(1<<f) != 0 }

func (d *draft) set(f field, x float64) { d.num[f] = x; d.mask |= 1 << f }

func (d *draft) setText(f field, t string) { d.text[f] = t; d.mask |= 1 << f }

// readRow makes a reading of a row, or one for each injector's cell. A row that makes none
// is not one that the next may be like: p.row still holds what stood above it.
func (p *parser) readRow(cells []string, line int) {
	like := p.like
	p.like = false
	if like && p.readAkin(cells, line) || p.remark(cells, line) || !p.fits(cells, line) || p.notData(cells, line) {
		return
	}
	filled := 0
	for _, i := range p.amounts {
		if i < len(cells) && trim(cells[i]) != "" {
			filled++
		}
	}
	if len(p.amounts) > 0 && filled == 0 {
		if !blank(cells) {
			p.out.Missing += len(p.amounts)
			p.judgeUnworked(line)
		}
		return
	}
	d := &p.row
	d.mask = 0
	if !p.readCells(d, cells, line) {
		return
	}
	for f := range fields { // copy what setup lines say; few
		if p.base.has(f) {
			d.num[f], d.text[f] = p.base.num[f], p.base.text[f]
		}
	}
	d.mask |= p.base.mask
	if d.mask == p.base.mask && len(p.amounts) == 0 {
		return // a blank row
	}
	if !p.wide {
		p.addReading(d, line)
		return
	}
	p.readWide(d, cells, line)
}

// readWide makes a reading of each injector's cell of a wide row.
func (p *parser) readWide(d *draft, cells []string, line int) {
	for _, i := range p.amounts {
		c := &p.cols[i]
		if i >= len(cells) || trim(cells[i]) == "" {
			p.out.Missing++
			p.judgeUnworkedCell(i, line)
			continue
		}
		x, ok := p.readNumber(c, trim(cells[i]), line)
		if !ok {
			continue
		}
		d.setText(injector, c.header)
		d.set(p.amountField, x)
		p.addReading(d, line)
	}
}

// readCells fills a draft from the columns that are not injectors. It tells whether every
// cell could be read.
func (p *parser) readCells(d *draft, cells []string, line int) (good bool) {
	good = true
	for i := range p.cols {
		c := &p.cols[i]
		if c.wide {
			continue
		}
		cell := ""
		if i < len(cells) {
			cell = trim(cells[i])
		}
		if c.empty = cell == ""; c.empty {
			continue
		}
		switch {
		case c.skip:
			p.fail(p.at(line, c.shown), "no-header", "%q stands in a column without a header: name the column or clear it", cell)
			return false
		case c.field == injector:
			d.setText(injector, unprotect(cell))
		case kinds[c.field].text:
			d.setText(c.field, c.readText(cell))
		default:
			x, ok := p.readNumber(c, cell, line)
			d.set(c.field, x)
			good = good && ok
		}
	}
	return good
}

// readAkin makes a reading of a row whose cells are filled where those of the row before are,
// with plain names and numbers, as those are that open a run: what is filled need not be
// looked at again, and cells that repeat the one above are not read. It gives false, and has
// made nothing, where a cell needs a second look.
func (p *parser) readAkin(cells []string, line int) bool {
	d := &p.row
	if p.wide || len(cells) != len(p.cols) || strings.HasPrefix(cells[0], "#") || d.has(frequency) || d.has(duration) {
		return false
	}
	if p.base.has(pulse) { // which believe may have changed
		d.num[pulse] = p.base.num[pulse]
	}
	same := true // but for the injector and the amount
	for i := range p.cols {
		c, cell := &p.cols[i], cells[i]
		repeats := cell == string(c.last)
		switch {
		case (cell == "") != c.empty:
			return false
		case c.empty:
		case c.field == injector:
			if !plain(cell) {
				return false
			}
			d.text[injector] = cell
		case kinds[c.field].text:
			if !repeats && !plain(cell) {
				return false
			}
			d.text[c.field] = c.readText(cell)
			same = same && repeats
		case repeats:
			d.num[c.field] = c.lastNum
		default:
			x, ok := p.plainNumber(c, cell)
			if !ok {
				return false
			}
			c.keepNumber(cell, x)
			d.num[c.field] = x
			same = same && c.field == p.amountField
		}
	}
	if p.like = same && p.addLike(d, line); !p.like {
		p.addBelieved(d, line)
	}
	return true
}

// readLike makes a reading of a row that is like the one before but for the injector and
// the amount. It leaves to readRow what needs a second look.
func (p *parser) readLike(cells []string, line int) bool {
	name, c := cells[p.nameColumn], &p.cols[p.amounts[0]]
	if !p.like || !plain(name) || strings.HasPrefix(cells[0], "#") {
		return false
	}
	p.unmarked = true
	x, ok := p.plainNumber(c, cells[p.amounts[0]])
	if !ok {
		return false
	}
	p.row.setText(injector, name)
	p.row.set(p.amountField, x)
	return p.addLike(&p.row, line)
}

// plain tells whether a name is what its cell says: neither trimmed nor marked.
func plain(name string) bool {
	return name != "" && trim(name) == name && !risky(name)
}

// readNumber reads a cell; most cells repeat the one above or need no second look.
func (p *parser) readNumber(c *column, cell string, line int) (float64, bool) {
	if cell == string(c.last) {
		return c.lastNum, true
	}
	x, ok := p.plainNumber(c, cell)
	if !ok {
		d, isNumber := parseDecimal(cell)
		if x, ok = p.number(d, isNumber, c.match, p.at(line, c.shown)); !ok {
			return x, false
		}
	}
	c.keepNumber(cell, x)
	return x, true
}

// keepNumber keeps what a cell was read as, for those below that repeat it.
func (c *column) keepNumber(cell string, x float64) {
	c.last, c.lastNum = append(c.last[:0], cell...), x
}

// plainNumber reads a number that is written as most are and needs no second look.
func (p *parser) plainNumber(c *column, cell string) (x float64, ok bool) {
	digits, behind, ok := plainDecimal(cell)
	if !ok || behind > 0 && (c.field == shots || !p.signs.sawPoint()) {
		return 0, false
	}
	return c.scale.plain(digits, behind), true
}

// remark tells whether a row is a remark, and refuses settings that come too late.
func (p *parser) remark(cells []string, line int) bool {
	if len(cells) == 0 || !strings.HasPrefix(cells[0], "#") {
		p.unmarked = true
		return false
	}
	if !p.ragged && len(cells) == len(p.header.cells) && !blank(cells[1:]) || p.ragged && !blank(cells[1:]) {
		p.hashed = append(p.hashed, p.at(line, p.cols[0].shown))
		return false
	}
	key, _, isSetting := strings.Cut(strings.TrimLeft(cells[0], "# "), "=")
	if isSetting && knownKey(strings.TrimSpace(key)) {
		p.fail(p.at(line, strings.Clone(strings.TrimSpace(key))), "late-setup", "this setup line stands below the header: move it above, because it holds for all readings")
	}
	return true
}

// judgeHashes refuses rows that begin with # among others that do not: they may be
// injectors that are named so, or readings that were to be left out.
func (p *parser) judgeHashes() {
	if !p.unmarked {
		return
	}
	for _, at := range p.hashed {
		p.fail(at, "hash", "the row begins with #: to leave it out, delete it; if the injector is named so, put an apostrophe before the #")
	}
}

// fits refuses rows that have more cells than the header, or fewer where the file
// writes them all.
func (p *parser) fits(cells []string, line int) bool {
	n := len(p.header.cells)
	if len(cells) > n && !blank(cells[n:]) {
		if p.lettered {
			p.besideTable(cells, line)
			return false
		}
		why := "are there separators in a cell that is not in quotation marks?"
		if p.comma == commaSeparates && n > 1 {
			why = "where a comma belongs to a text, put that cell in quotation marks; if these are decimal commas, save the file with semicolons between the cells"
		}
		p.fail(p.at(line, ""), "ragged", "the row has %d cells but the header has %d: %s", len(cells), n, why)
		return false
	}
	if len(cells) == 1 && n > 1 && !p.ragged && strings.ContainsAny(cells[0], ",;\t|") {
		p.fail(p.at(line, ""), "ragged", "the row has other separators than the header: use one of comma, semicolon or tab throughout")
		return false
	}
	if len(cells) < n && !p.ragged && !blank(cells) {
		p.fail(p.at(line, ""), "ragged", "the row has %s but the header has %d: is it cut off? Leave a cell empty, but keep its separator", count(len(cells), "cell", "cells"), n)
		return false
	}
	return true
}

// mostTexts bounds the texts of a column that are kept to be shared: slots and vessels are
// few, and runs that are many follow each other.
const mostTexts = 1 << 9

// readText makes a text of a cell, shared with the rows that have the same one.
func (c *column) readText(cell string) string {
	if cell != string(c.last) {
		c.keep(cell)
	}
	return c.lastText
}

// keep makes a text of a cell that does not repeat the one above.
func (c *column) keep(cell string) {
	c.last = append(c.last[:0], cell...)
	if text, ok := c.texts[cell]; ok {
		c.lastText = text
		return
	}
	if c.field == run { // labels keep those: a copy of each would take a twentieth of reading
		c.lastText = unprotect(unsafe.String(unsafe.SliceData(c.last), len(c.last)))
		return
	}
	own := strings.Clone(cell)
	c.lastText = unprotect(own)
	switch {
	case c.told == 0:
		c.texts = map[string]string{own: c.lastText}
	case c.told < mostTexts:
		c.texts[own] = c.lastText
	default:
		c.texts = nil
	}
	c.told++
}

// addReading completes a draft, or says what is missing or can't be.
func (p *parser) addReading(d *draft, line int) {
	if p.hasAll(d, line) {
		p.addBelieved(d, line)
	}
}

// addBelieved adds the reading of a draft that has all, or says what can't be.
func (p *parser) addBelieved(d *draft, line int) {
	if p.believe(d, line) {
		p.readings.add(d.reading(line))
		p.like = true
	}
}

// addLike makes a reading of a draft that differs from the one before by injector and
// amount alone, as most of a run do: only these have to be believed. It leaves to addReading
// what is missing or can't be. Of a million readings this saves 0.15 s.
func (p *parser) addLike(d *draft, line int) bool {
	if !d.has(injector) || !d.has(p.amountField) {
		return false
	}
	c := p.readings.common()
	d.num[shots], d.num[period] = c.shots, float64(c.period)
	if _, problem := slipOfFlow(d); problem != "" {
		return false
	}
	p.readings.addLike(d.text[injector], unit.Volume(d.numOf(volume)), unit.Mass(d.numOf(mass)), line)
	return true
}

// reading is that of a draft that has all.
func (d *draft) reading(line int) Reading {
	return Reading{
		Injector: d.text[injector],
		Pulse:    unit.Time(d.num[pulse]),
		Period:   unit.Time(d.num[period]),
		Shots:    d.num[shots],
		Volume:   unit.Volume(d.numOf(volume)),
		Mass:     unit.Mass(d.numOf(mass)),
		Pressure: unit.Pressure(d.num[pressure]),
		Run:      d.textOf(run),
		Voltage:  unit.Voltage(d.numOf(voltage)),
		Temp:     unit.Temperature(d.numOf(temp)),
		Slot:     d.textOf(slot), Vessel: d.textOf(vessel), Note: d.textOf(note),
		Division:   unit.Volume(d.numOf(division)), // of a scale: kg until finish
		Resistance: unit.Resistance(d.numOf(resistance)),
		Line:       line,
	}
}

func (d *draft) textOf(f field) string {
	if d.has(f) {
		return d.text[f]
	}
	return ""
}

func (d *draft) numOf(f field) float64 {
	if d.has(f) {
		return d.num[f]
	}
	return 0
}

func blank(cells []string) bool {
	for _, c := range cells {
		if trim(c) != "" {
			return false
		}
	}
	return true
}

// trim takes blanks off both ends; most cells have none.
func trim(cell string) string {
	if n := len(cell); n == 0 || cell[0] > ' ' && cell[0] < 0x80 && cell[n-1] > ' ' && cell[n-1] < 0x80 {
		return cell
	}
	return strings.TrimSpace(cell)
}

// A text that a spreadsheet would run as a formula, or that looks like a remark, is
// written with an apostrophe before it, which reading takes off again.

func protect(text string) string {
	if risky(text) {
		return "'" + text
	}
	return text
}

func unprotect(text string) string {
	if strings.HasPrefix(text, "'") && risky(text) {
		return text[1:]
	}
	return text
}

func risky(text string) bool {
	first := strings.TrimLeft(text, "'")
	if first == "" {
		return false
	}
	switch first[0] {
	case '=', '+', '-', '@', '\t', '#':
		return true
	}
	return false
}

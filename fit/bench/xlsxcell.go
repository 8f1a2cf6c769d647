package bench

// judgeUnworked refuses empty amounts of a row that hold formulas.
func (p *parser) judgeUnworked(line int) {
	for _, i := range p.amounts {
		p.judgeUnworkedCell(i, line)
	}
}

// judgeUnworkedCell refuses an empty cell that holds a formula: some programs save
// formulas without their results, and the reading would be lost silently.
func (p *parser) judgeUnworkedCell(i, line int) {
	if p.unworked != nil && p.unworked()[cellAt{i + 1, line}] {
		p.fail(p.at(line, p.cols[i].shown), "no-result", "the cell holds a formula whose result was not saved: open the workbook in a spreadsheet program and save it, or type the number")
	}
}

// besideTable refuses the first cell that stands beside the table.
func (p *parser) besideTable(cells []string, line int) {
	for i := len(p.header.cells); i < len(cells); i++ {
		if text := trim(cells[i]); text != "" {
			p.fail(p.at(line, p.letter(i)), "no-header", "%q stands beside the table: name its column, put remarks under note, or clear the cell", text)
			return
		}
	}
}

// firstDate and lastDate are the days that spreadsheets count as 2000-01-01 and
// 2060-01-01.
const (
	firstDate = 36526
	lastDate  = 58440
)

// likeDate says that the number in a cell of a workbook may be a date.
func (p *parser) likeDate(f field) string {
	for _, c := range p.cols {
		d, ok := parseDecimal(string(c.last))
		if x := d.times(0); p.lettered && c.field == f && !c.skip && ok && d.sign == 0 && x >= firstDate && x < lastDate {
			return "; the cell may hold a date, which spreadsheets make of numbers such as 2.5: give it the format of a number and type it again"
		}
	}
	return ""
}

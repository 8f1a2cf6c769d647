package bench

import (
	"fmt"
	"math"
)

// wrongRows finds points of which every injector is off alike: the pulse, the shots,
// the supply or the pressure of that row was another than was written. Such a row has
// to be one line, or one run, of the file. By point; "": right, or no telling.
func (f *family) wrongRows() []string {
	rows := make([]string, len(f.eff))
	for p := range rows {
		eff, scatter, ok := f.onCurve(p)
		if !ok || f.n[p] < 3 || f.eff[p] <= 0 {
			continue
		}
		part := f.eff[p]/eff - 1
		sigma := math.Hypot(scatter+f.newForm(p, eff).off, 2*otherScatter*eff) / eff
		if math.Abs(part) > rowPart && math.Abs(part) > wrongSigmas*sigma && f.oneRow(p) {
			rows[p] = fmt.Sprintf("every injector delivered %+.0f %% of what fits: %s", 100*part, f.rowCause(p, eff))
		}
	}
	return rows
}

// oneRow tells whether all readings of a point were taken together.
func (f *family) oneRow(p int) bool {
	rs, first := &f.c.sheet.Readings, -1
	for k := range f.c.readingsAt(p) {
		if first < 0 {
			first = k
		}
		run := rs.run(k)
		if rs.rows[k].line != rs.rows[first].line && (run == "" || run != rs.run(first)) {
			return false
		}
	}
	return true
}

// rowCause looks for the pulse or the shots that would fit a row.
func (f *family) rowCause(p int, eff float64) string {
	c := f.c
	cd := f.conds[f.cond[p]]
	for _, q := range cd.points {
		if want, _, ok := f.onCurve(q); ok && q != p && math.Abs(f.eff[p]/want-1) < 0.02 {
			return fmt.Sprintf("a pulse of %.6g ms would fit: check what was set", c.points[q].Pulse.Ms())
		}
	}
	own := c.lastShots(p)
	for _, shots := range c.shotsOf() {
		if math.Abs(shots/(own*f.eff[p]/eff)-1) < 0.02 && math.Abs(shots/own-1) > wrongPart {
			return fmt.Sprintf("%.6g shots instead of %.6g would fit: check the count", shots, own)
		}
	}
	return "check its pulse, period, shots, pressure and voltage"
}

// lastShots are the shots of a point's last reading in the sheet.
func (c *Checked) lastShots(p int) float64 {
	last := -1
	for k := range c.readingsAt(p) {
		last = max(last, k)
	}
	return c.sheet.Readings.common(last).shots
}

// tellRows reports each row that is wrong as a whole once.
func (c *Checked) tellRows() {
	told := make([]bool, len(c.rows))
	for k, fault := range c.wrong {
		if fault != rowIsWrong {
			continue
		}
		p := c.PointOf(k)
		if told[p] {
			continue
		}
		told[p] = true
		at := c.sheet.at(k)
		at.Column = ""
		c.warn(at, "wrong-row", "%s: %s; its readings are left out", c.points[p], c.rows[p])
	}
}

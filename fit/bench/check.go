package bench

import (
	"cmp"
	"fmt"
	"slices"
	"sync"

	"injtab/fit/diag"
)

// Check judges each reading and each injector of a sheet. The notes are the findings
// in the order of the file (Notes of the result gives them too); the error is for
// sheets of which nothing can be used.
func Check(s Sheet) (Checked, []diag.Note, error) {
	if s.Readings.Len() == 0 {
		return Checked{}, nil, diag.Fail(s.whole(), "no-readings", "there is no reading to check: expected one or more with what was delivered")
	}
	if s.Readings.rest > 0 && s.Readings.anew == nil {
		return Checked{}, nil, diag.Fail(s.whole(), "not-held", "most repeats of the file are not held and can't be read again: read the file anew")
	}
	c, runs := newChecked(s)
	var beside sync.WaitGroup // what does not bear on the rest is done beside it
	var twice []copied
	beside.Go(func() { twice = c.findTwice(runs) })
	f, misses := c.findWrong()
	beside.Wait()
	c.judgeInjectors(f, misses)
	comparable := c.comparable(f, misses)
	var tally tallies
	var course course
	beside.Go(func() {
		tally = runs.tally(misses, runReadings, comparable)
		course = tally.course()
	})
	c.tellRows()
	c.tellWrong(f, misses)
	c.findMeans()
	if s.Readings.anew != nil {
		if err := c.judgeRest(misses.expected); err != nil {
			return Checked{}, nil, err
		}
	}
	c.findFamilies()
	beside.Wait()
	c.tellTwice(twice)
	c.judgeRuns(tally, course)
	c.judgeSession(f, misses, comparable)
	c.judgeNames()
	slices.SortStableFunc(c.notes, func(a, b diag.Note) int { return cmp.Compare(a.Place.Line, b.Place.Line) })
	c.shown, c.extremes, c.slots, c.sat, c.erratic, c.sheet.Readings.anew = nil, nil, grouping{}, nil, nil, nil // nobody asks for them any more
	return *c, c.notes, nil
}

// newChecked sorts the readings by injector, point and run and weighs them.
func newChecked(s Sheet) (c *Checked, runs grouping) {
	c = &Checked{sheet: s, notes: slices.Clone(s.Notes)}
	c.readingsOf = s.Readings.inCommon()
	var beside sync.WaitGroup
	beside.Go(func() {
		runs = c.groupRuns()
		c.slots = c.groupSlots()
		c.settleDivision()
	})
	c.sort()
	beside.Wait()
	c.sat = c.slotsOf()
	c.settleTechnique()
	return c, runs
}

// sort sorts the readings by injector and point.
func (c *Checked) sort() {
	rows := c.sheet.Readings.rows
	c.findPoints()
	place := c.findInjectors()
	injectorOf, pointOf := make([]int32, len(rows)), make([]int32, len(rows))
	for k := range rows {
		injectorOf[k], pointOf[k] = place[rows[k].injector], c.pointOf[rows[k].common]
	}
	c.pairs = newPairs(injectorOf, pointOf, len(c.injectors), len(c.points))
	c.wrong, c.why = make([]fault, len(rows)), map[int]string{}
	c.findScales()
	c.findShown()
}

// findInjectors lists the injectors that have readings in natural order and tells where
// each name of the sheet is among them.
func (c *Checked) findInjectors() (place []int32) {
	names := c.sheet.Readings.names
	place = make([]int32, len(names))
	rows, left := c.sheet.Readings.rows, len(names)
	for k := 0; k < len(rows) && left > 0; k++ { // mostly all are among the first
		if x := rows[k].injector; place[x] == 0 {
			place[x] = 1
			left--
		}
	}
	var order []int32
	for n, measured := range place {
		if measured > 0 {
			order = append(order, int32(n))
		}
	}
	slices.SortFunc(order, func(a, b int32) int { return CompareNatural(names[a], names[b]) })
	for i, n := range order {
		place[n] = int32(i)
		c.injectors = append(c.injectors, Injector{ID: names[n]})
	}
	return place
}

// whole is the place of what concerns the sheet as a whole.
func (s Sheet) whole() diag.Place { return diag.Place{File: s.File, Sheet: s.Sheet} }

func (c *Checked) warn(at diag.Place, code, format string, args ...any) {
	c.notes = append(c.notes, diag.Note{Severity: diag.Warning, Code: code, Place: at, Message: fmt.Sprintf(format, args...)})
}

package bench

import (
	"cmp"
	"fmt"
	"slices"

	"injtab/fit/diag"
)

// Check judges each reading and each injector of a sheet. The notes are the findings
// in the order of the file (Notes of the result gives them too); the error is for
// sheets of which nothing can be used.
func Check(s Sheet) (Checked, []diag.Note, error) {
	if len(s.Readings) == 0 {
		return Checked{}, nil, diag.Fail(s.whole(), "no-readings", "there is no reading to check: expected one or more with what was delivered")
	}
	c := newChecked(s)
	f, misses := c.findWrong()
	c.tellRows()
	c.tellWrong(f, misses)
	c.findMeans()
	c.judgeInjectors(f, misses)
	c.judgeSession(f, misses)
	c.judgeNames()
	slices.SortStableFunc(c.notes, func(a, b diag.Note) int { return cmp.Compare(a.Place.Line, b.Place.Line) })
	return *c, c.notes, nil
}

// newChecked sorts the readings by injector and point and weighs them.
func newChecked(s Sheet) *Checked {
	c := &Checked{sheet: s, notes: slices.Clone(s.Notes)}
	c.points, c.pointOf = findPoints(s.Readings)
	c.injectors, c.injectorOf = findInjectors(s.Readings)
	c.wrong = make([]string, len(s.Readings))
	c.weigh()
	return c
}

// findInjectors lists the injectors in natural order and tells for each reading
// which one.
func findInjectors(readings []Reading) (list []Injector, of []int) {
	at := map[string]int{}
	for _, r := range readings {
		if _, seen := at[r.Injector]; !seen {
			at[r.Injector] = 0
			list = append(list, Injector{ID: r.Injector})
		}
	}
	slices.SortFunc(list, func(a, b Injector) int { return CompareNatural(a.ID, b.ID) })
	for i, inj := range list {
		at[inj.ID] = i
	}
	of = make([]int, len(readings))
	for k, r := range readings {
		of[k] = at[r.Injector]
	}
	return list, of
}

// whole is the place of what concerns the sheet as a whole.
func (s Sheet) whole() diag.Place { return diag.Place{File: s.File, Sheet: s.Sheet} }

func (c *Checked) warn(at diag.Place, code, format string, args ...any) {
	c.notes = append(c.notes, diag.Note{Severity: diag.Warning, Code: code, Place: at, Message: fmt.Sprintf(format, args...)})
}

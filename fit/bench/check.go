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
	c.findFamilies()
	c.judgeSession(f, misses)
	c.judgeNames()
	slices.SortStableFunc(c.notes, func(a, b diag.Note) int { return cmp.Compare(a.Place.Line, b.Place.Line) })
	c.perShot, c.slots, c.sat = nil, grouping{}, nil // 8 bytes a reading that nobody asks for any more
	return *c, c.notes, nil
}

// newChecked sorts the readings by injector and point and weighs them.
func newChecked(s Sheet) *Checked {
	c := &Checked{sheet: s, notes: slices.Clone(s.Notes)}
	points, pointOf := findPoints(s.Readings)
	injectors, injectorOf := findInjectors(s.Readings)
	c.points, c.injectors = points, injectors
	c.pairs = newPairs(injectorOf, pointOf, len(injectors), len(points))
	c.wrong, c.why = make([]fault, len(s.Readings)), map[int]string{}
	c.perShot = make([]float64, len(s.Readings))
	for k := range s.Readings {
		c.perShot[k] = float64(s.Readings[k].Volume) * c.perShotScale(k)
	}
	c.slots = newGrouping(s.Readings, func(r *Reading) string { return r.Slot() })
	c.sat = c.slotsOf()
	c.settleDivision()
	c.settleTechnique()
	return c
}

// findInjectors lists the injectors in natural order and tells for each reading
// which one.
func findInjectors(readings []Reading) (list []Injector, of []int32) {
	at := map[string]int32{} // in the order of the sheet
	of = make([]int32, len(readings))
	for k := range readings {
		id := readings[k].Injector
		i, seen := at[id]
		if !seen {
			i = int32(len(list))
			at[id] = i
			list = append(list, Injector{ID: id})
		}
		of[k] = i
	}
	slices.SortFunc(list, func(a, b Injector) int { return CompareNatural(a.ID, b.ID) })
	place := make([]int32, len(list))
	for i, inj := range list {
		place[at[inj.ID]] = int32(i)
	}
	for k := range of {
		of[k] = place[of[k]]
	}
	return list, of
}

// whole is the place of what concerns the sheet as a whole.
func (s Sheet) whole() diag.Place { return diag.Place{File: s.File, Sheet: s.Sheet} }

func (c *Checked) warn(at diag.Place, code, format string, args ...any) {
	c.notes = append(c.notes, diag.Note{Severity: diag.Warning, Code: code, Place: at, Message: fmt.Sprintf(format, args...)})
}

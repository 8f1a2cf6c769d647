package bench

import (
	"slices"

	"injtab/fit/diag"
	"injtab/fit/unit"
)

// Check judges each reading and each injector of a sheet. The notes are the findings
// (Notes of the result gives them too); the error is for sheets of which nothing can
// be used.
func Check(s Sheet) (Checked, []diag.Note, error) {
	if len(s.Readings) == 0 {
		return Checked{}, nil, diag.Fail(diag.Place{File: s.File, Sheet: s.Sheet}, "no-readings", "there is no reading to check: expected one or more with what was delivered")
	}
	c := newChecked(s)
	c.findMeans()
	c.judgeInjectors()
	return *c, c.notes, nil
}

// newChecked sorts the readings by injector and point and weighs them.
func newChecked(s Sheet) *Checked {
	c := &Checked{sheet: s, notes: slices.Clone(s.Notes)}
	c.points, c.pointOf = findPoints(s.Readings)
	c.injectors, c.injectorOf = findInjectors(s.Readings)
	c.wrong = make([]string, len(s.Readings))
	c.weights = make([]Weight, len(s.Readings))
	for k, r := range s.Readings {
		c.weights[k] = newWeight(r, c.divisionOf(r), technique)
	}
	return c
}

func (c *Checked) divisionOf(r Reading) unit.Volume {
	if r.Division > 0 {
		return r.Division
	}
	return c.sheet.Setup.Division
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

// judgeInjectors gives each injector its verdict.
func (c *Checked) judgeInjectors() {
	for i := range c.injectors {
		if delivered := slices.ContainsFunc(c.means[i], func(m Mean) bool { return m.PerShot > 0 }); !delivered {
			c.injectors[i].Verdict = Dead
			c.injectors[i].Reasons = []string{"delivers nothing at any point"}
		}
	}
}

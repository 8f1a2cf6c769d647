package bench

import (
	"slices"
	"strings"
	"unicode"
)

// judgeNames warns of injectors whose names differ in letter case, leading zeros or
// separators alone: one injector may have become two. It warns too of names that
// stand before sums and means.
func (c *Checked) judgeNames() {
	type name struct{ id, bare string }
	var ids []name
	for _, inj := range c.injectors {
		ids = append(ids, name{inj.ID, bareName(inj.ID)})
		if summary(inj.ID) {
			c.warn(c.sheet.whole(), "summary-name", "%q is counted as an injector: if it is a sum or a mean, delete its rows", inj.ID)
		}
	}
	slices.SortStableFunc(ids, func(a, b name) int { return natural(a.bare, b.bare) })
	for i := 1; i < len(ids); i++ {
		if natural(ids[i-1].bare, ids[i].bare) == 0 {
			c.warn(c.sheet.whole(), "alike-names", "injectors %q and %q are counted as two: if they are one, write its name alike", ids[i-1].id, ids[i].id)
		}
	}
}

// bareName is a name without what people write now one way and now another: letter
// case, and what stands between letters and digits. "1-2" and "12" stay apart.
func bareName(id string) string {
	runes := []rune(strings.ToLower(id))
	var kept []rune
	for i, r := range runes {
		between := i > 0 && i+1 < len(runes) && unicode.IsDigit(runes[i-1]) && unicode.IsDigit(runes[i+1])
		if !strings.ContainsRune(" _-.#", r) || between {
			kept = append(kept, r)
		}
	}
	return string(kept)
}

// summary tells whether a name is what people write before sums and means.
func summary(name string) bool {
	name = strings.ToLower(strings.Trim(name, " :=%_"))
	return slices.Contains([]string{"mean", "average", "avg", "median", "sum", "total", "min", "max", "minimum", "maximum", "spread", "difference", "deviation"}, name)
}

package match

import (
	"fmt"
	"slices"

	"injtab/fit/bench"
)

// A request is Options with names resolved: injectors are indexes of the
// checked sheet.
type request struct {
	Options
	keep, without []int
	failed        int // the injector to replace, or -1
}

// read resolves the names in o and checks what needs no readings.
func read(c bench.Checked, o Options) (request, error) {
	r := request{Options: o, failed: -1}
	r.Of = size(o)
	var err error
	if r.keep, err = indexes(c, "--keep", o.Keep); err != nil {
		return r, err
	}
	if r.without, err = indexes(c, "--without", o.Without); err != nil {
		return r, err
	}
	if o.Replace != "" {
		if err = r.replace(c); err != nil {
			return r, err
		}
	}
	for _, i := range r.keep {
		if slices.Contains(r.without, i) {
			return r, fmt.Errorf("injector %s is in both --keep and --without: take it out of one of them", id(c, i))
		}
	}
	if r.Sets == 0 {
		r.Sets = 1
	}
	if err = r.check(); err != nil {
		return r, err
	}
	return r, r.fits(c)
}

// size is how many injectors make a set: as asked, as many as there are
// cylinders, or as many as the set has in which one is replaced.
func size(o Options) int {
	switch {
	case o.Of != 0:
		return o.Of
	case len(cylinders(o)) > 0:
		return len(cylinders(o))
	case o.Replace != "" && slices.Contains(o.Keep, o.Replace):
		return len(o.Keep)
	case o.Replace != "":
		return len(o.Keep) + 1
	}
	return 0
}

// replace turns the set in keep and the failed injector into a set of which all
// but one are kept.
func (r *request) replace(c bench.Checked) error {
	failed, err := indexes(c, "--replace", []string{r.Replace})
	if err != nil {
		return err
	}
	r.failed = failed[0]
	r.keep = slices.DeleteFunc(r.keep, func(i int) bool { return i == r.failed })
	r.without = append(r.without, r.failed)
	if len(r.keep) == 0 {
		return fmt.Errorf("--replace %s needs the other injectors of its set: name them with --keep", r.Replace)
	}
	if r.Of != len(r.keep)+1 || r.Sets > 1 || r.Aim == MostSets {
		return fmt.Errorf("--replace %s: --keep names %s of the set, so the set with the new one has %d: leave out --of and --sets, or name the whole set",
			r.Replace, counted(len(r.keep), "injector"), len(r.keep)+1)
	}
	return nil
}

func (r request) check() error {
	switch {
	case r.Of == 0:
		return fmt.Errorf("how many injectors make a set? Give --of, for example --of 8, or the --cylinders")
	case r.Of < 2:
		return fmt.Errorf("--of %d: a set has two injectors at least", r.Of)
	case r.Sets < 0 || r.Spares < 0:
		return fmt.Errorf("--sets and --spares can't be negative")
	case r.Within < 0:
		return fmt.Errorf("--within can't be negative: give a spread such as 2%%")
	case r.Aim == BestFirst && len(r.keep) > r.Of:
		return fmt.Errorf("--keep names %d injectors for the first set, which has %d: keep fewer, or let the worst set be as good as possible", len(r.keep), r.Of)
	}
	return nil
}

// fits checks that no number asked for is beyond the injectors there are, so that
// products of them stay small.
func (r request) fits(c bench.Checked) error {
	for _, ask := range []struct {
		flag  string
		count int
	}{{"--of", r.Of}, {"--sets", r.Sets}, {"--spares", r.Spares}} {
		if have := len(c.Injectors()); ask.count > have {
			return fmt.Errorf("%s %d is more than %s has: it has %s", ask.flag, ask.count, c.Sheet().File, counted(have, "injector"))
		}
	}
	if r.Aim != MostSets && len(r.keep) > r.Of*r.Sets {
		return fmt.Errorf("--keep names %d injectors, but %s of %d can hold %d: keep fewer", len(r.keep), counted(r.Sets, "set"), r.Of, r.Of*r.Sets)
	}
	return nil
}

// indexes finds the injectors of these names; each once.
func indexes(c bench.Checked, flag string, names []string) ([]int, error) {
	var list []int
	for _, name := range names {
		at := slices.IndexFunc(c.Injectors(), func(i bench.Injector) bool { return i.ID == name })
		if at < 0 {
			return nil, fmt.Errorf("%s: there is no injector %q in %s: it has %s", flag, name, c.Sheet().File, few(ids(c, nil)))
		}
		if !slices.Contains(list, at) {
			list = append(list, at)
		}
	}
	return list, nil
}

func id(c bench.Checked, i int) string { return c.Injectors()[i].ID }

// ids are the names of the injectors at these indexes; nil: of all.
func ids(c bench.Checked, list []int) []string {
	var names []string
	for i, inj := range c.Injectors() {
		if list == nil || slices.Contains(list, i) {
			names = append(names, inj.ID)
		}
	}
	return names
}

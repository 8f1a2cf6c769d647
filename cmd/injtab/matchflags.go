package main

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"injtab/fit/unit"
	"injtab/tables/match"
)

// A matchChoice is what the flags say of the sets that are wanted.
type matchChoice struct {
	options   match.Options
	sets      string
	bestFirst bool
	points    string
	weights   string
}

// register adds the flags of match; tables and report take the same.
func (m *matchChoice) register(f *pflag.FlagSet) {
	o := &m.options
	f.IntVar(&o.Of, "of", 0, "`count` of injectors in a set (default: as many as there are cylinders)")
	f.StringVar(&m.sets, "sets", "1", "how many sets, or max, which is as many as stay --within: `count|max`")
	f.BoolVar(&m.bestFirst, "best-first", false, "of several sets make the first as good as possible, not the worst")
	f.Var(&share{to: &o.Within}, "within", "largest spread that a set may have, such as 2%")
	f.Var(&names{to: &o.Keep}, "keep", "injectors that must be in a set")
	f.Var(&names{to: &o.Without}, "without", "injectors that must not be")
	f.StringVar(&o.Replace, "replace", "", "injector `ID` of the set named by --keep that failed: choose one in its place")
	f.IntVar(&o.Spares, "spares", 0, "`count` of spares to name for each set")
	f.StringVar(&m.points, "points", "", "compare at these `POINTS` only, such as '2ms, 10ms 300kPa, open'")
	f.StringVar(&m.weights, "weights", "", "how much `POINTS` count, such as '2ms=2, open=0'")
	f.Var(&cylinders{to: &o.Cylinders}, "cylinders", "cylinders to seat a set in: how many, or their numbers, such as 1,2,3,4")
	f.Var(&banks{to: &o.Banks}, "banks", "the bank of each cylinder in order, such as 1,2,1,2,1,2, or the cylinders of each bank, such as 1,3,5/2,4,6")
	f.Var(&order{to: &o.FiringOrder}, "firing-order", "cylinders as they fire, such as 1-5-3-6-2-4")
	f.Var(&bias{to: &o.CylinderBias}, "cylinder-bias", "what single cylinders need beyond the mean, such as 6=2%,1=-1%")
	f.DurationVar(&o.TimeLimit, "time-limit", 0, "stop the search after this time, such as 5s, with what has been proven by then")
}

// complete reads what the flags' library does not.
func (m *matchChoice) complete() (err error) {
	o := &m.options
	switch n, notNumber := strconv.Atoi(m.sets); {
	case m.sets == "max" && m.bestFirst:
		return usage("--best-first and --sets max exclude each other")
	case m.sets == "max":
		o.Aim = match.MostSets
	case notNumber != nil || n < 1:
		return usage("--sets: %q is neither a number of sets nor max", m.sets)
	default:
		o.Sets = n
	}
	if o.TimeLimit < 0 {
		return usage("--time-limit: %v is no time to search in: write a time such as 5s", o.TimeLimit)
	}
	if m.bestFirst {
		o.Aim = match.BestFirst
	}
	if o.Points, err = readPoints(m.points, match.ParsePoints); err != nil {
		return usage("--points: %w", err)
	}
	if o.Weights, err = readPoints(m.weights, match.ParseWeights); err != nil {
		return usage("--weights: %w", err)
	}
	return nil
}

func readPoints[T any](text string, read func(string) ([]T, error)) ([]T, error) {
	if text == "" {
		return nil, nil
	}
	return read(text)
}

// whole reads numbers of cylinders, each once.
func whole(text, separator string) (list []int, err error) {
	seen := map[int]bool{}
	for item := range strings.SplitSeq(text, separator) {
		n, err := strconv.Atoi(strings.TrimSpace(item))
		if err != nil || n < 1 || n > 99 {
			return nil, fmt.Errorf("%q is no cylinder's number: write numbers from 1 to 99 with %q between them", strings.TrimSpace(item), separator)
		}
		if seen[n] {
			return nil, fmt.Errorf("cylinder %d is named twice", n)
		}
		seen[n] = true
		list = append(list, n)
	}
	return list, nil
}

// cylinders is a flag's value: a count, or the cylinders' numbers.
type cylinders struct {
	to   *[]int
	text string
}

func (c *cylinders) Set(text string) (err error) {
	c.text = text
	if *c.to, err = whole(text, ","); err != nil {
		return err
	}
	if len(*c.to) == 1 {
		count := (*c.to)[0]
		*c.to = nil
		for n := range count {
			*c.to = append(*c.to, n+1)
		}
	}
	return nil
}

func (c *cylinders) String() string { return c.text }
func (c *cylinders) Type() string   { return "count|numbers" }

// banks is a flag's value: the bank of each cylinder, or the cylinders of each bank
// with a slash between banks.
type banks struct {
	to   *[][]int
	text string
}

func (b *banks) Set(text string) error {
	b.text, *b.to = text, nil
	if !strings.Contains(text, "/") {
		return b.eachCylinder(text)
	}
	seen := map[int]bool{}
	for bank := range strings.SplitSeq(text, "/") {
		list, err := whole(bank, ",")
		if err != nil {
			return err
		}
		for _, n := range list {
			if seen[n] {
				return fmt.Errorf("cylinder %d is in two banks", n)
			}
			seen[n] = true
		}
		*b.to = append(*b.to, list)
	}
	return nil
}

// eachCylinder reads the bank of cylinder 1, of cylinder 2, and so on.
func (b *banks) eachCylinder(text string) error {
	of := map[int][]int{}
	cylinder := 0
	for item := range strings.SplitSeq(text, ",") {
		bank, err := strconv.Atoi(strings.TrimSpace(item))
		if err != nil || bank < 1 {
			return fmt.Errorf("%q is not the number of a bank: write the bank of each cylinder in order, such as 1,2,1,2", item)
		}
		cylinder++
		of[bank] = append(of[bank], cylinder)
	}
	for _, bank := range slices.Sorted(maps.Keys(of)) {
		*b.to = append(*b.to, of[bank])
	}
	return nil
}

func (b *banks) String() string { return b.text }
func (b *banks) Type() string   { return "numbers" }

// order is a flag's value: cylinders as they fire.
type order struct {
	to   *[]int
	text string
}

func (o *order) Set(text string) (err error) {
	o.text = text
	separator := "-"
	if strings.Contains(text, ",") {
		separator = ","
	}
	*o.to, err = whole(text, separator)
	return err
}

func (o *order) String() string { return o.text }
func (o *order) Type() string   { return "numbers" }

// bias is a flag's value: what single cylinders need beyond the mean.
type bias struct {
	to   *map[int]unit.Ratio
	text string
}

func (b *bias) Set(text string) error {
	b.text, *b.to = text, map[int]unit.Ratio{}
	for item := range strings.SplitSeq(text, ",") {
		number, much, found := strings.Cut(item, "=")
		n, err := strconv.Atoi(strings.TrimSpace(number))
		if !found || err != nil || n < 1 {
			return fmt.Errorf("%q is not understood: write cylinder=share, such as 6=2%%", item)
		}
		if _, twice := (*b.to)[n]; twice {
			return fmt.Errorf("cylinder %d is named twice", n)
		}
		x, err := unit.ParseRatio(much)
		if err != nil {
			return err
		}
		if x < -0.5 || x > 0.5 {
			return fmt.Errorf("%q is too much: a cylinder needs a few per cent more or less", strings.TrimSpace(much))
		}
		(*b.to)[n] = x
	}
	return nil
}

func (b *bias) String() string { return b.text }
func (b *bias) Type() string   { return "cylinder=share" }

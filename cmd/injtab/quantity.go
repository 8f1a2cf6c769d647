package main

import (
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"injtab/fit/unit"
	"injtab/tables"
)

// quantity is a flag's value that carries its unit.
type quantity[Q ~float64] struct {
	kind unit.Kind[Q]
	to   *Q
	text string
}

// quantityFlag adds a flag for a quantity; symbol is shown in the help.
func quantityFlag[Q ~float64](f *pflag.FlagSet, to *Q, kind unit.Kind[Q], name, about string) {
	f.Var(&quantity[Q]{kind: kind, to: to}, name, about)
}

func (q *quantity[Q]) Set(text string) (err error) {
	q.text = text
	*q.to, err = q.kind.Parse(text)
	return err
}

func (q *quantity[Q]) String() string { return q.text }
func (q *quantity[Q]) Type() string   { return q.kind.Units[0].Symbol }

// share is a flag's value that is a ratio: 80% or 0.8.
type share struct {
	to   *unit.Ratio
	text string
}

func (s *share) Set(text string) error {
	s.text = text
	x, err := unit.ParseRatio(text)
	switch {
	case err != nil:
		return fmt.Errorf("%w: write a share such as 2%% or 0.02", err)
	case x <= 0 || x > 1:
		return fmt.Errorf("%q is no share: write one above 0%% and up to 100%%, such as 2%% or 0.02", text)
	}
	*s.to = x
	return nil
}

func (s *share) String() string { return s.text }
func (s *share) Type() string   { return "%" }

// number is a flag's value without a unit, above zero.
type number struct {
	to   *float64
	text string
}

func (n *number) Set(text string) (err error) {
	n.text = text
	if *n.to, err = unit.Number(text); err == nil && *n.to <= 0 {
		return fmt.Errorf("%q must be above zero", text)
	}
	return err
}

func (n *number) String() string { return n.text }
func (n *number) Type() string   { return "number" }

// axis is a flag's value for the breakpoints of an axis: a count, or values with
// their unit.
type axis[Q ~float64] struct {
	kind unit.Kind[Q]
	base string // unit of the axis
	to   *tables.AxisSpec
	text string
}

func axisFlag[Q ~float64](f *pflag.FlagSet, to *tables.AxisSpec, kind unit.Kind[Q], base, name, about string) {
	f.Var(&axis[Q]{kind: kind, base: base, to: to}, name, about)
}

func (a *axis[Q]) Set(text string) error {
	a.text = text
	if n, err := strconv.Atoi(strings.TrimSpace(text)); err == nil {
		*a.to = tables.AxisSpec{Count: n}
		if n < 2 {
			return fmt.Errorf("%q is no count of breakpoints: write 2 or more, or the values with their unit, such as %q", text, "2,3,4"+a.base)
		}
		return nil
	}
	values, err := a.values(text)
	if err != nil {
		return err
	}
	*a.to = tables.AxisSpec{}
	for _, q := range values {
		a.to.Values = append(a.to.Values, a.kind.As(q, a.base))
	}
	return nil
}

// values reads a list, or a range with its step: 8..16V by 1V.
func (a *axis[Q]) values(text string) ([]Q, error) {
	from, rest, isRange := strings.Cut(text, "..")
	if !isRange {
		return a.kind.ParseList(text)
	}
	to, by, stepped := strings.Cut(rest, "by")
	if !stepped {
		return nil, fmt.Errorf("%q has no step: write a range as 8..16%s by 1%s", text, a.base, a.base)
	}
	ends, err := a.kind.ParseList(from + "," + strings.TrimSpace(to))
	if err != nil {
		return nil, err
	}
	step, err := a.kind.Parse(strings.TrimSpace(by))
	if err != nil {
		return nil, err
	}
	return tables.Range(ends[0], ends[1], step)
}

func (a *axis[Q]) String() string { return a.text }
func (a *axis[Q]) Type() string   { return "values|count" }

// names is a flag's value that lists injectors; an id may be quoted.
type names struct {
	to   *[]string
	text string
}

func (n *names) Set(text string) error {
	n.text = text
	list, err := splitList(text)
	*n.to = list
	return err
}

func (n *names) String() string { return n.text }
func (n *names) Type() string   { return "ids" }

// splitList reads names with commas between them, as one line of CSV.
func splitList(text string) ([]string, error) {
	r := csv.NewReader(strings.NewReader(text))
	r.TrimLeadingSpace, r.LazyQuotes = true, true
	list, err := r.Read()
	if err != nil {
		return nil, fmt.Errorf(`%q is no list: write the names with commas between them, such as 3,7,"B, left"`, text)
	}
	for i := range list {
		if list[i] = strings.TrimSpace(list[i]); list[i] == "" {
			return nil, fmt.Errorf("%q has an empty name at place %d", text, i+1)
		}
	}
	return list, nil
}

// seats is a flag's value that puts injectors into cylinders by hand.
type seats struct {
	to   *map[string]int // cylinder of each injector
	text string
}

func (s *seats) Set(text string) error {
	s.text = text
	list, err := splitList(text)
	if err != nil {
		return err
	}
	taken := map[int]string{}
	*s.to = map[string]int{}
	for _, item := range list {
		number, id, found := strings.Cut(item, "=")
		cylinder, err := strconv.Atoi(strings.TrimSpace(number))
		if id = unquote(id); !found || err != nil || cylinder < 1 || id == "" {
			return fmt.Errorf("%q is no seat: write cylinder=injector, such as 1=7,2=3", item)
		}
		if other, twice := taken[cylinder]; twice {
			return fmt.Errorf("cylinder %d is given to injectors %s and %s", cylinder, other, id)
		}
		if _, twice := (*s.to)[id]; twice {
			return fmt.Errorf("injector %s is given two cylinders", id)
		}
		taken[cylinder], (*s.to)[id] = id, cylinder
	}
	return nil
}

func (s *seats) String() string { return s.text }
func (s *seats) Type() string   { return "cylinder=id" }

// unquote takes the blanks and one pair of quotes off a name.
func unquote(id string) string {
	id = strings.TrimSpace(id)
	if len(id) > 1 && id[0] == '"' && id[len(id)-1] == '"' {
		return id[1 : len(id)-1]
	}
	return id
}

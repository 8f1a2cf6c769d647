package engine

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// A Field is one input by its key: the name in an engine file and, with hyphens
// for underscores, of the flag.
type Field struct {
	Key   string
	Unit  string // as written behind a number, or what to write: "kW", "name"
	About string // one line for people

	set   func(in *Inputs, text string) error
	value func(in Inputs) any // string, int or float64; nil where not given
	check func(in Inputs) error
	bare  bool // a number without a unit
}

// Flag is the name of the flag.
func (f Field) Flag() string { return strings.ReplaceAll(f.Key, "_", "-") }

// Set reads the text into its field. The error is a sentence without the key.
func (f Field) Set(in *Inputs, text string) error {
	if err := f.set(in, text); err != nil {
		return err
	}
	return f.check(*in)
}

// Text writes the field as Set reads it; "" where it was not given.
func (f Field) Text(in Inputs) string {
	switch v := f.value(in).(type) {
	case nil:
		return ""
	case string:
		return v
	case int:
		return strconv.Itoa(v)
	case float64:
		return number(v)
	default:
		panic(fmt.Sprintf("engine: field %s holds a %T", f.Key, v))
	}
}

// number writes ten significant digits: enough for any gauge, few enough that
// reading and writing again gives the same text.
func number(x float64) string { return strconv.FormatFloat(x, 'g', 10, 64) }

// limits are the ends of what can be meant, in the field's own unit, and the slip
// that most likely lies behind a number outside them.
type limits struct {
	lo, hi float64
	slip   string
}

// check compares with the limits; NaN is outside.
func (l limits) check(x float64, symbol string) error {
	slack := 1e-9 * math.Max(math.Abs(l.lo), math.Abs(l.hi)) // of rounding in conversions
	if x >= l.lo-slack && x <= l.hi+slack {
		return nil
	}
	space := " "
	if symbol == "" || symbol == "%" {
		space = ""
	}
	sentence := fmt.Sprintf("%s%s%s is not possible here, expected %s to %s%s%s", digits(x), space, symbol, digits(l.lo), digits(l.hi), space, symbol)
	if l.slip == "" {
		return errors.New(sentence)
	}
	return fmt.Errorf("%s: %s", sentence, l.slip)
}

func digits(x float64) string { return strconv.FormatFloat(x, 'g', 6, 64) }

func nearZero(x float64) bool { return math.Abs(x) < 1e-12 }

// quantity is a field with a unit. A lower limit above zero means that zero, read
// from text, is refused; in Inputs zero stands for not given.
func quantity[Q ~float64](key, symbol, about string, kind unit.Kind[Q], l limits, at func(*Inputs) *Q) Field {
	inside := func(q Q) error {
		u, _ := kind.Lookup(symbol)
		return l.check(u.Of(float64(q)), symbol)
	}
	return Field{
		Key: key, Unit: symbol, About: about,
		set: func(in *Inputs, text string) (err error) {
			q, err := kind.Parse(text)
			if err == nil {
				err = inside(q)
			}
			*at(in) = q
			return err
		},
		value: func(in Inputs) any {
			if q := *at(&in); !nearZero(float64(q)) {
				return number(kind.As(q, symbol)) + symbol
			}
			return nil
		},
		check: func(in Inputs) error {
			if q := *at(&in); !nearZero(float64(q)) {
				return inside(q)
			}
			return nil
		},
	}
}

// ratio is a share, as a percentage or a bare number; its limits are in per cent.
func ratio(key, about string, l limits, at func(*Inputs) *unit.Ratio) Field {
	optional := func(in *Inputs) **unit.Ratio {
		if p := at(in); !nearZero(float64(*p)) {
			return &p
		}
		return new(*unit.Ratio)
	}
	f := share(key, about, l, optional)
	f.set = func(in *Inputs, text string) error {
		q, err := parseRatio(text, l)
		*at(in) = q
		return err
	}
	return f
}

// share is a ratio for which zero has a meaning.
func share(key, about string, l limits, at func(*Inputs) **unit.Ratio) Field {
	return Field{
		Key: key, Unit: "%", About: about, bare: true,
		set: func(in *Inputs, text string) error {
			q, err := parseRatio(text, l)
			*at(in) = &q
			return err
		},
		value: func(in Inputs) any {
			if q := *at(&in); q != nil {
				return number(q.Pct()) + "%"
			}
			return nil
		},
		check: func(in Inputs) error {
			if q := *at(&in); q != nil {
				return l.check(q.Pct(), "%")
			}
			return nil
		},
	}
}

func parseRatio(text string, l limits) (unit.Ratio, error) {
	q, err := unit.ParseRatio(text)
	if err != nil {
		return 0, fmt.Errorf("%w: write a share such as 85%% or 0.85", err)
	}
	return q, l.check(q.Pct(), "%")
}

// plain is a number that has no unit.
func plain(key, what, about string, l limits, at func(*Inputs) *float64) Field {
	return Field{
		Key: key, Unit: what, About: about, bare: true,
		set: func(in *Inputs, text string) error {
			x, err := unit.Number(strings.TrimSpace(text))
			if err == nil {
				err = l.check(x, "")
			}
			*at(in) = x
			return err
		},
		value: func(in Inputs) any {
			x := *at(&in)
			switch whole := math.Round(x); {
			case nearZero(x):
				return nil
			case nearZero(x - whole):
				return int(whole)
			}
			return x
		},
		check: func(in Inputs) error {
			if x := *at(&in); !nearZero(x) {
				return l.check(x, "")
			}
			return nil
		},
	}
}

// count is a whole number.
func count(key, about string, l limits, at func(*Inputs) *int) Field {
	return Field{
		Key: key, Unit: "count", About: about, bare: true,
		set: func(in *Inputs, text string) error {
			n, err := strconv.Atoi(strings.TrimSpace(text))
			if err != nil {
				return fmt.Errorf("%q is not a whole number", text)
			}
			*at(in) = n
			return l.check(float64(n), "")
		},
		value: func(in Inputs) any {
			if n := *at(&in); n != 0 {
				return n
			}
			return nil
		},
		check: func(in Inputs) error {
			if n := *at(&in); n != 0 {
				return l.check(float64(n), "")
			}
			return nil
		},
	}
}

// choice is one of a few words.
func choice[S ~string](key, about string, words []S, at func(*Inputs) *S) Field {
	known := func(s S) error {
		if slices.Contains(words, s) {
			return nil
		}
		return fmt.Errorf("%q is not known: write %s or %s", s, words[0], words[1])
	}
	return Field{
		Key: key, Unit: string(words[0]) + "|" + string(words[1]), About: about,
		set: func(in *Inputs, text string) error {
			*at(in) = S(strings.ToLower(strings.TrimSpace(text)))
			return known(*at(in))
		},
		value: func(in Inputs) any { return word(string(*at(&in))) },
		check: func(in Inputs) error {
			if *at(&in) == "" {
				return nil
			}
			return known(*at(&in))
		},
	}
}

// liquid is a fluid by its name.
func liquid(key, about string, at func(*Inputs) *fluid.Fluid) Field {
	return Field{
		Key: key, Unit: "name", About: about,
		set: func(in *Inputs, text string) (err error) {
			*at(in), err = fluid.Lookup(text)
			return err
		},
		value: func(in Inputs) any { return word(at(&in).Name) },
		check: func(Inputs) error { return nil },
	}
}

func word(s string) any {
	if s == "" {
		return nil
	}
	return s
}

package unit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Parse reads a number with its unit, such as "43.5psi" or "43.5 psi". A bare
// number is refused with the list of units: a guess could burn an engine. The
// error is a sentence without the place, which the caller knows.
func (k Kind[Q]) Parse(text string) (Q, error) {
	number, symbol := split(text)
	if number == "" {
		return 0, fmt.Errorf("%q is not %s: write a number and its unit (%s), for example %s",
			text, k.Name, k.Symbols(), k.example())
	}
	x, err := Number(number)
	if err != nil {
		return 0, fmt.Errorf("%q is not %s: %w", text, k.Name, err)
	}
	if symbol == "" {
		return 0, fmt.Errorf("%q has no unit: write %s%s, or another of %s", text, number, k.Units[0].Symbol, k.Symbols())
	}
	u, ok := k.Lookup(symbol)
	if !ok && symbol[0] == ',' {
		return 0, fmt.Errorf("%q: write a decimal point for the comma", text)
	}
	if !ok {
		return 0, fmt.Errorf("%q: %s is not a unit of %s: use %s", text, symbol, strings.TrimPrefix(k.Name, "a "), k.Symbols())
	}
	si := u.SI(x)
	if math.IsInf(si, 0) {
		return 0, fmt.Errorf("%q is not %s: the number is too large", text, k.Name)
	}
	return Q(si), nil
}

func (k Kind[Q]) example() string { return "3" + k.Units[0].Symbol }

// Number reads a finite decimal number with a decimal point, and nothing that
// only a programming language would take (hexadecimal, underscores, inf, nan).
func Number(text string) (float64, error) {
	if text == "" {
		return 0, fmt.Errorf("a number is missing")
	}
	for _, r := range text {
		if !strings.ContainsRune("0123456789.+-eE", r) {
			return 0, fmt.Errorf("%q is not a number: write digits with a decimal point, no unit and no separator", text)
		}
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsInf(x, 0) {
		return 0, fmt.Errorf("%q is not a finite number", text)
	}
	return x, nil
}

// split parts "43.5 psi" into number and unit. An e belongs to the number only
// when digits follow it.
func split(text string) (number, symbol string) {
	text = strings.TrimSpace(text)
	i := 0
	for i < len(text) {
		c := text[i]
		exponent := (c == 'e' || c == 'E') && i > 0 && i+1 < len(text) &&
			(isDigit(text[i+1]) || strings.IndexByte("+-", text[i+1]) >= 0 && i+2 < len(text) && isDigit(text[i+2]))
		sign := (c == '+' || c == '-') && (i == 0 || text[i-1] == 'e' || text[i-1] == 'E')
		if !isDigit(c) && c != '.' && !exponent && !sign {
			break
		}
		i++
	}
	return text[:i], strings.TrimSpace(text[i:])
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

// ParseRatio reads "80%" or a bare "0.8".
func ParseRatio(text string) (Ratio, error) {
	if number, ok := strings.CutSuffix(strings.TrimSpace(text), "%"); ok {
		x, err := Number(strings.TrimSpace(number))
		return Ratio(x / 100), err
	}
	x, err := Number(strings.TrimSpace(text))
	return Ratio(x), err
}

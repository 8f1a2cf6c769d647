package bench

import (
	"math"
	"strconv"
	"strings"

	"injtab/fit/unit"
)

// A decimal is a number as it was written: its digits as a whole number times a
// power of ten. Units that are powers of ten change the exponent alone, so that a
// converted number is rounded once, and text, value and text agree.
type decimal struct {
	text     string // as written
	mantissa uint64 // the digits; meaningless unless short
	short    bool   // the digits fit a float64 exactly
	negative bool
	exponent int
	sign     byte // the decimal sign: '.', ',' or 0
	behind   int  // digits behind the decimal sign
	before   int  // digits before it
}

// parseDecimal reads digits with an optional sign, decimal sign and exponent, and
// nothing that only a programming language would take.
func parseDecimal(text string) (decimal, bool) {
	d := decimal{text: text}
	i, n := 0, len(text)
	if i < n && (text[i] == '-' || text[i] == '+') {
		d.negative = text[i] == '-'
		i++
	}
	first, point := i, -1
	mantissa := uint64(0)
	for ; i < n; i++ {
		if digit := text[i] - '0'; digit <= 9 {
			mantissa = mantissa*10 + uint64(digit)
			continue
		}
		if text[i] != '.' && text[i] != ',' || point >= 0 {
			break
		}
		point, d.sign = i, text[i]
	}
	d.mantissa, d.before = mantissa, i-first
	if point >= 0 {
		d.before, d.behind = point-first, i-point-1
	}
	d.exponent = -d.behind
	d.short = mantissa < 1<<53 && (d.before+d.behind <= 19 || len(strings.TrimLeft(text[first:i], "0.,")) <= 19)
	if d.before+d.behind == 0 {
		return d, false
	}
	if i < n && (text[i] == 'e' || text[i] == 'E') {
		e, err := strconv.Atoi(text[i+1:])
		if err != nil || e > 999 || e < -999 {
			return d, false
		}
		d.exponent += e
		i = n
	}
	return d, i == n
}

// plainDecimal reads a number of few digits with at most a decimal point among them, as most
// are, without the trouble that parseDecimal takes; false of all others.
func plainDecimal(text string) (digits uint64, behind int, ok bool) {
	if len(text) == 0 || len(text) > fewDigits {
		return 0, 0, false
	}
	point := len(text) - 1
	for i := range len(text) {
		if digit := text[i] - '0'; digit <= 9 {
			digits = digits*10 + uint64(digit)
		} else if text[i] == '.' && point == len(text)-1 && i < point {
			point = i
		} else {
			return 0, 0, false
		}
	}
	return digits, len(text) - 1 - point, true
}

const fewDigits = 10 // so many are below maxNumber in any unit

// times is the number times ten to the power of shift, correctly rounded.
func (d decimal) times(shift int) float64 {
	e := d.exponent + shift
	if d.short && e >= -22 && e <= 22 { // both factors are exact: one rounding
		x := tenfold(float64(d.mantissa), e)
		if d.negative {
			return -x
		}
		return x
	}
	digits, _, _ := strings.Cut(strings.ToLower(d.text), "e")
	digits = strings.NewReplacer(".", "", ",", "").Replace(digits)
	x, _ := strconv.ParseFloat(digits+"e"+strconv.Itoa(e), 64) // out of range is ±Inf, which the caller refuses
	return x
}

// likeThousands tells whether the text may be a whole number with a separator of
// thousands: one to three digits, a sign, three digits.
func (d decimal) likeThousands() bool {
	first := strings.TrimLeft(d.text, "+-")
	return d.sign != 0 && d.behind == 3 && d.before >= 1 && d.before <= 3 &&
		first[0] != '0' && d.exponent == -3
}

// tenfold is x times ten to the power of e, from -22 to 22.
func tenfold(x float64, e int) float64 {
	if e < 0 {
		return x / powersOfTen[-e]
	}
	return x * powersOfTen[e]
}

var powersOfTen = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// A scale turns a number under a header into SI.
type scale struct {
	suffix string // "_ms"
	unit   unit.Unit
	shift  int  // the unit is this power of ten
	tens   bool // the unit is a power of ten
	mass   bool // where a volume or a mass will do: a mass
}

func newScale(u unit.Unit) scale {
	s := scale{suffix: u.Suffix, unit: u}
	for shift := -9; shift <= 9 && !s.tens; shift++ {
		s.shift = shift
		s.tens = u.Offset == 0 && math.Abs(u.Num/u.Den/math.Pow10(shift)-1) < 1e-12
	}
	return s
}

func (s scale) si(d decimal) float64 {
	if s.tens {
		return d.times(s.shift)
	}
	return s.unit.SI(d.times(0))
}

// plain is si for digits of which so many stand behind the decimal point.
func (s *scale) plain(digits uint64, behind int) float64 {
	if s.tens {
		return tenfold(float64(digits), s.shift-behind)
	}
	return s.unit.SI(tenfold(float64(digits), -behind))
}

// write gives the text of an SI value, so that reading it gives the same value again.
func (s scale) write(si float64) string {
	if s.tens {
		return shiftText(si, -s.shift)
	}
	x := s.unit.Of(si)
	for digits := 0; digits <= 20; digits++ {
		text := strconv.FormatFloat(x, 'f', digits, 64)
		if d, ok := parseDecimal(text); ok && math.Float64bits(s.si(d)) == math.Float64bits(si) {
			return text
		}
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// shiftText writes x·10^shift exactly, by moving the decimal sign in its shortest
// text.
func shiftText(x float64, shift int) string {
	short := strconv.FormatFloat(x, 'e', -1, 64)
	digits, exp, _ := strings.Cut(short, "e")
	e, _ := strconv.Atoi(exp) // FormatFloat writes no other
	minus := ""
	if strings.HasPrefix(digits, "-") {
		minus, digits = "-", digits[1:]
	}
	digits = strings.Replace(digits, ".", "", 1)
	point := 1 + e + shift // digits before the decimal sign
	switch {
	case x > -math.SmallestNonzeroFloat64 && x < math.SmallestNonzeroFloat64:
		return "0"
	case point <= 0:
		return minus + "0." + strings.Repeat("0", -point) + digits
	case point >= len(digits):
		return minus + digits + strings.Repeat("0", point-len(digits))
	}
	return minus + digits[:point] + "." + digits[point:]
}

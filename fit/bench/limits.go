package bench

import (
	"fmt"
	"math"
	"strings"

	"injtab/fit/diag"
)

// maxNumber is beyond any quantity of a bench, in SI.
const maxNumber = 1e15

// The limits of what a bench for port injectors can have: beyond them stands a slip
// of the pen or a wrong unit (common practice, no source).
const (
	openPulse    = 5e-4       // relative: a pulse this near the period is held open (16.67 ms, 60 Hz)
	shortPulse   = 1e-5       // s
	shortPeriod  = 1e-3       // s
	longPeriod   = 5.0        // s, between pulses
	longHold     = 36000      // s, held open or leak test
	highPressure = 1.5e6      // Pa
	lowPressure  = 1e4        // Pa
	highVoltage  = 100        // V
	lowVoltage   = 3          // V
	highFlow     = 10e-3 / 60 // m³/s
	leastVolume  = 1e-10      // m³, more than nothing: no vessel or scale shows less
	bigDivision  = 1e-3       // m³ or kg
	anyDensity   = 750        // kg/m³, good enough to tell a slip
)

// hasAll tells which of the required cells is empty. A leak test needs neither
// voltage nor period.
func (p *parser) hasAll(d *draft, line int) bool {
	if d.has(frequency) && d.num[frequency] > 0 {
		d.set(period, 1/d.num[frequency])
	}
	leak := d.has(pulse) && d.num[pulse] <= 0
	if leak && d.has(duration) && !(d.has(period) && d.num[period] > 0) {
		d.set(period, d.num[duration])
	}
	if d.has(duration) && d.has(period) {
		d.set(shots, wholeShots(d.num[duration]/d.num[period]))
	}
	good := true
	for _, need := range [...]field{injector, pulse, period, shots, p.amountField, pressure, voltage} {
		if d.has(need) || need == voltage && leak {
			continue
		}
		if need == shots && d.has(duration) {
			continue // the period is what is missing
		}
		f := need
		if other, ok := insteadOf[need]; ok && p.shown[need] == "" && p.shown[other] != "" {
			f = other
		}
		good = false
		p.fail(p.where(f, line), "empty-cell", "the cell is empty: write the %s of this reading (where cells were merged, fill each of them)", kinds[f].name)
	}
	return good
}

// wholeShots takes rounding off a number of shots: a time over a period is seldom
// exact.
func wholeShots(n float64) float64 {
	if w := math.Round(n); math.Abs(n-w) <= 1e-9*w {
		return w
	}
	return n
}

// believe refuses what no bench has, with the likely slip. It lets a pulse as long
// as the period, but for rounding, be held open.
func (p *parser) believe(d *draft, line int) bool {
	if on, t := d.num[pulse], d.num[period]; on > 0 && math.Abs(on/t-1) <= openPulse {
		d.num[pulse] = t
	}
	for _, judge := range []func(*draft) (field, string){slipOfTime, slipOfSupply, slipOfFluid, slipOfFlow} {
		if f, problem := judge(d); problem != "" {
			p.fail(p.where(f, line), "absurd", "%s%s", problem, p.likeDate(f))
			return false
		}
	}
	return true
}

func slipOfTime(d *draft) (field, string) {
	on, t, n := d.num[pulse], d.num[period], d.num[shots]
	of := period
	if d.has(frequency) && !(t <= 0) {
		of = frequency
	}
	switch {
	case n <= 0 && on <= 0:
		return shots, "a leak test has no shots: write how long it ran (duration_s), or shots and period that multiply to it"
	case n <= 0:
		return shots, "0 shots deliver nothing: write how many pulses were run"
	case t <= 0:
		return of, "a period of 0 is not possible: write the time from one pulse to the next"
	case t < shortPeriod:
		return of, fmt.Sprintf("a period of %.6g ms is too short: is the number in another unit than the column says?", t*1e3)
	case n < 1-1e-9:
		return shots, fmt.Sprintf("%.3g of a shot is no reading: check shots, duration and period", n)
	case n > 1e8:
		return shots, fmt.Sprintf("%.6g shots are more than any session has: check the number", n)
	case on > t:
		return pulse, fmt.Sprintf("the pulse of %.6g ms is longer than the period of %.6g ms: check both and their units (ms or µs); equal means held open", on*1e3, t*1e3)
	case on > 0 && on < shortPulse:
		return pulse, fmt.Sprintf("a pulse of %.6g ms opens no injector: is the number in another unit than the column says?", on*1e3)
	case t > longPeriod && on > 0 && on < t:
		return of, fmt.Sprintf("a period of %.6g s is too long: is the number in another unit than the column says?", t)
	case t*n > longHold*10:
		return shots, fmt.Sprintf("the reading would have run for %.6g hours: check shots, duration and period", t*n/3600)
	}
	return 0, ""
}

func slipOfSupply(d *draft) (field, string) {
	v, kPa := d.numOf(voltage), d.num[pressure]/1e3
	switch {
	case v > highVoltage:
		return voltage, fmt.Sprintf("%.6g V is no supply of an injector: is it in millivolts, or a decimal point lost?", v)
	case v < lowVoltage && d.num[pulse] > 0:
		return voltage, fmt.Sprintf("%.6g V drives no injector: write the voltage at the injector while it is driven", v)
	case d.num[pressure] > highPressure:
		return pressure, fmt.Sprintf("%.6g kPa is too high for port injectors: is the number in another unit than the column says (kPa, bar, psi)?", kPa)
	case d.num[pressure] < lowPressure:
		return pressure, fmt.Sprintf("%.6g kPa is too low for port injectors: is the number in another unit than the column says (kPa, bar, psi)?", kPa)
	}
	return 0, ""
}

func slipOfFluid(d *draft) (field, string) {
	celsius, ohm := d.numOf(temp)-273.15, d.numOf(resistance)
	switch {
	case d.has(temp) && (celsius < -40 || celsius > 120):
		return temp, fmt.Sprintf("%.6g °C is no temperature of a bench fluid: is the number in another unit than the column says (°C, °F)?", celsius)
	case d.has(resistance) && (ohm < 0.1 || ohm > 1000):
		return resistance, fmt.Sprintf("%.6g ohm is no coil of an injector: check the number and the meter's range", ohm)
	}
	return 0, ""
}

// slipOfFlow refuses a delivery that no injector passes even held open, or that no
// vessel shows.
func slipOfFlow(d *draft) (field, string) {
	f, m3 := volume, d.numOf(volume)
	if d.has(mass) {
		f, m3 = mass, d.num[mass]/anyDensity
	}
	flow := m3 / (d.num[shots] * d.num[period])
	if flow > highFlow {
		return f, fmt.Sprintf("this makes %.6g ml/min on the average, more than any port injector passes held open: check the amount, its unit, the shots and the period", flow*60e6)
	}
	switch {
	case m3 > 0 && m3 < leastVolume:
		return f, fmt.Sprintf("%.3g ml is less than any vessel or scale shows: check the amount and its unit; 0 means delivered nothing", m3*1e6)
	case d.numOf(division) > bigDivision:
		return division, "a division of more than a litre is no use on a bench: check the number and its unit"
	}
	return 0, ""
}

// where is the place of a field: its cell, or the setup line that gives it.
func (p *parser) where(f field, line int) diag.Place {
	if p.placed[f].Line > 0 {
		return p.placed[f]
	}
	if other, ok := insteadOf[f]; ok && p.shown[f] == "" {
		if p.placed[other].Line > 0 {
			return p.placed[other]
		}
		f = other
	}
	return p.at(line, p.shown[f])
}

// A commaRule says what a comma in a number means.
type commaRule uint8

const (
	commaIsDecimal commaRule = iota // the file must keep to it
	commaSeparates                  // cells, so that none belongs to a number
	commaInText                     // of a workbook, whose true numbers have a point
)

// signs is what was seen of decimal signs.
type signs struct {
	point, comma, thousands diag.Place
	clear                   bool // some comma can only be a decimal one
}

func (s *signs) sawPoint() bool { return s.point.File != "" || s.point.Line > 0 }

// number turns a cell into SI, or says why it is none.
func (p *parser) number(d decimal, ok bool, m match, at diag.Place) (float64, bool) {
	if problem := p.problem(d, ok, m.field); problem != "" {
		p.fail(at, "not-a-number", "%q %s", d.text, problem)
		return 0, false
	}
	switch d.sign {
	case '.':
		if !p.signs.sawPoint() {
			p.signs.point = at
		}
	case ',':
		p.signs.see(d, at)
	}
	x := m.scale.si(d)
	if !(math.Abs(x) < maxNumber) {
		p.fail(at, "not-a-number", "%q is beyond any number of a bench: check it", d.text)
		return 0, false
	}
	return x, true
}

func (s *signs) see(d decimal, at diag.Place) {
	if s.comma.Line == 0 {
		s.comma = at
	}
	if !d.likeThousands() {
		s.clear = true
	} else if s.thousands.Line == 0 {
		s.thousands = at
	}
}

// problem says why a text is no number of a bench file.
func (p *parser) problem(d decimal, ok bool, f field) string {
	hasComma, hasPoint := strings.Contains(d.text, ","), strings.Contains(d.text, ".")
	lower := strings.ToLower(strings.Trim(d.text, "+-"))
	switch {
	case !ok && hasComma && hasPoint:
		return "has a point and a comma: write it without a separator of thousands"
	case !ok && (lower == "inf" || lower == "infinity" || lower == "nan"):
		return "is not a finite number: write what was read, or leave the cell empty"
	case !ok && oddNumber(d.text) != "":
		return oddNumber(d.text)
	case !ok && p.inSetup:
		return "is not a number: write the number alone; the unit stands in the name before the ="
	case !ok:
		return "is not a number: write the number alone (the unit stands in the header), or leave the cell empty where nothing was measured"
	case d.sign == ',' && p.comma == commaSeparates:
		return "has a comma but commas separate the cells: write a decimal point, or save the file with semicolons"
	case d.negative && f == pressure && d.times(0) < 0:
		return "is negative: write the pressure in the rail above that at the nozzle"
	case d.negative && (f == volume || f == mass) && d.times(0) < 0:
		return "is negative: write what was delivered, 0 for nothing"
	case d.negative && f != temp && d.times(0) < 0:
		return "is negative: write the quantity without a sign"
	case f == shots && d.likeThousands():
		return "may be a thousand or a fraction: write the shots as a whole number without a separator"
	}
	return ""
}

// judgeSigns refuses a text file that uses both decimal signs, and one whose commas
// may all be separators of thousands.
func (p *parser) judgeSigns() {
	s := &p.signs
	if s.comma.Line == 0 {
		return
	}
	if p.comma == commaIsDecimal && s.sawPoint() {
		p.fail(s.comma, "decimal-sign", "this number has a decimal comma but the one in line %d, column %s, has a decimal point: use one of them throughout", s.point.Line, s.point.Column)
		return
	}
	if !s.clear {
		p.fail(s.thousands, "decimal-sign", "this comma, as every other in the file, may be a decimal comma or a separator of thousands: write a decimal point, or fewer or more than three digits behind the comma")
	}
}

package tables

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"injtab/fit"
	"injtab/fit/bench"
)

// A HoldOut says which readings a fit is made without.
type HoldOut struct {
	Every     int  // every n-th reading of each injector
	Condition bool // or every pressure and voltage in turn
}

var everyNth = regexp.MustCompile(`^every\s+(\d+)(st|nd|rd|th)?$`)

// ParseHoldOut reads "every 5th" or "each condition".
func ParseHoldOut(text string) (HoldOut, error) {
	if strings.Join(strings.Fields(strings.ToLower(text)), " ") == "each condition" {
		return HoldOut{Condition: true}, nil
	}
	m := everyNth.FindStringSubmatch(strings.ToLower(strings.TrimSpace(text)))
	if m == nil {
		return HoldOut{}, fmt.Errorf("%q is not understood: write which readings are held out, 'every 5th' or 'each condition'", text)
	}
	n, err := strconv.Atoi(m[1])
	if err != nil || n < 2 || n > 1000 {
		return HoldOut{}, fmt.Errorf("%q holds out too many readings or too few: write every 2nd to every 1000th", text)
	}
	return HoldOut{Every: n}, nil
}

func (h HoldOut) String() string {
	if h.Condition {
		return "each pressure and voltage in turn"
	}
	suffix := "th"
	if tens := h.Every / 10 % 10; tens != 1 && h.Every%10 >= 1 && h.Every%10 <= 3 {
		suffix = [...]string{"st", "nd", "rd"}[h.Every%10-1]
	}
	return fmt.Sprintf("every %d%s reading of each injector", h.Every, suffix)
}

// mask marks the readings that are held out: every n-th of each injector in the
// order of the file. Injectors begin at different places of the count, because they
// are often measured at the same points in the same order.
func (h HoldOut) mask(readings bench.Readings) []bool {
	begin, count := map[string]int{}, map[string]int{}
	out := make([]bool, readings.Len())
	for i, r := range readings.All() {
		if _, known := begin[r.Injector]; !known {
			begin[r.Injector] = len(begin)
		}
		count[r.Injector]++
		out[i] = (count[r.Injector]+begin[r.Injector])%h.Every == 0
	}
	return out
}

// VerifyHeldOut fits the readings that are not held out, lays tables out for the
// injectors of the ECU with its axes, and compares these tables with the readings
// held out. The ECU's own tables are not used.
func VerifyHeldOut(e *ECU, c bench.Checked, h HoldOut, o VerifyOptions) (Verification, error) {
	masks, err := h.masks(c)
	if err != nil {
		return Verification{}, err
	}
	var parts []comparison
	for _, held := range masks {
		some, err := verifyMask(e, c, held, o)
		if err != nil {
			return Verification{}, err
		}
		parts = append(parts, some...)
	}
	v, err := sumUp(parts, o)
	v.HeldOut = h.String()
	return v, err
}

// masks are the sets of readings to be held out one after the other.
func (h HoldOut) masks(c bench.Checked) ([][]bool, error) {
	if !h.Condition {
		return [][]bool{h.mask(c.Readings())}, nil
	}
	masks := conditionMasks(c)
	if len(masks) < 3 {
		return nil, fmt.Errorf("%s has too few pressures and voltages to leave one out: 'each condition' needs 3", c.Sheet().File)
	}
	return masks, nil
}

// conditionMasks marks the pulsed readings of each pressure and voltage.
func conditionMasks(c bench.Checked) (masks [][]bool) {
	readings := c.Readings()
	at := map[[2]int]int{}
	for i, r := range readings.All() {
		if r.Leak() || r.Static() {
			continue
		}
		key := [2]int{int(math.Round(r.Pressure.KPa() / 5)), int(math.Round(r.Voltage.V() * 5))}
		k, ok := at[key]
		if !ok {
			k = len(masks)
			at[key] = k
			masks = append(masks, make([]bool, readings.Len()))
		}
		masks[k][i] = true
	}
	return masks
}

// verifyMask fits the readings that the mask leaves and compares tables of that fit
// with those it holds.
func verifyMask(e *ECU, c bench.Checked, held []bool, o VerifyOptions) ([]comparison, error) {
	rest, err := without(c, held)
	if err != nil {
		return nil, err
	}
	m, err := fit.Injectors(rest, fit.Options{})
	if err != nil {
		return nil, err
	}
	set, err := Build(m, e.alike(m))
	if err != nil {
		return nil, err
	}
	refitted, err := NewECU(set.Tables)
	if err != nil {
		return nil, err
	}
	o.Only = func(reading int) bool { return held[reading] }
	return compare(refitted, c, o), nil
}

// alike are the options for tables with the ECU's breakpoints, for those of its
// injectors that the model has: all readings of one may have been held out.
func (e *ECU) alike(m *fit.Model) Options {
	o := Options{Extrapolate: true, Pressure: AxisSpec{Values: e.flow.at}, Voltage: AxisSpec{Values: e.dead.rows}, Pulse: AxisSpec{Values: e.short.at}}
	for _, id := range e.order {
		if _, ok := m.Find(id); ok {
			o.Injectors = append(o.Injectors, id)
		}
	}
	return o
}

// without is the session without the readings held out.
func without(c bench.Checked, held []bool) (bench.Checked, error) {
	sheet := c.Sheet()
	sheet.Readings, sheet.Notes = sheet.Readings.Only(func(k int) bool { return !held[k] }), nil
	rest, _, err := bench.Check(sheet)
	return rest, err
}

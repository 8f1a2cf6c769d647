package tables

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"injtab/fit"
	"injtab/fit/bench"
)

// A HoldOut says which readings a fit is made without.
type HoldOut struct {
	Every int // every n-th reading of each injector
}

var everyNth = regexp.MustCompile(`^every\s+(\d+)(st|nd|rd|th)?$`)

// ParseHoldOut reads "every 5th".
func ParseHoldOut(text string) (HoldOut, error) {
	m := everyNth.FindStringSubmatch(strings.ToLower(strings.TrimSpace(text)))
	if m == nil {
		return HoldOut{}, fmt.Errorf("%q is not understood: write which readings are held out, such as 'every 5th'", text)
	}
	n, err := strconv.Atoi(m[1])
	if err != nil || n < 2 || n > 1000 {
		return HoldOut{}, fmt.Errorf("%q holds out too many readings or too few: write every 2nd to every 1000th", text)
	}
	return HoldOut{Every: n}, nil
}

func (h HoldOut) String() string {
	suffix := "th"
	if tens := h.Every / 10 % 10; tens != 1 && h.Every%10 >= 1 && h.Every%10 <= 3 {
		suffix = [...]string{"st", "nd", "rd"}[h.Every%10-1]
	}
	return fmt.Sprintf("every %d%s reading of each injector", h.Every, suffix)
}

// mask marks the readings that are held out: every n-th of each injector in the
// order of the file. Injectors begin at different places of the count, because they
// are often measured at the same points in the same order.
func (h HoldOut) mask(readings []bench.Reading) []bool {
	begin, count := map[string]int{}, map[string]int{}
	out := make([]bool, len(readings))
	for i, r := range readings {
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
	rest, err := h.rest(c)
	if err != nil {
		return Verification{}, err
	}
	m, err := fit.Injectors(rest, fit.Options{})
	if err != nil {
		return Verification{}, err
	}
	set, err := Build(m, e.alike(m))
	if err != nil {
		return Verification{}, err
	}
	refitted, err := NewECU(set.Tables)
	if err != nil {
		return Verification{}, err
	}
	held := h.mask(c.Readings())
	o.Only = func(reading int) bool { return held[reading] }
	v, err := Verify(refitted, c, o)
	v.HeldOut = h.String()
	return v, err
}

// alike are the options for tables with the ECU's breakpoints, for those of its
// injectors that the model has: all readings of one may have been held out.
func (e *ECU) alike(m *fit.Model) Options {
	o := Options{Pressure: AxisSpec{Values: e.flowAt}, Voltage: AxisSpec{Values: e.dead.rows}, Pulse: AxisSpec{Values: e.shortAt}}
	for _, id := range e.order {
		if _, ok := m.Find(id); ok {
			o.Injectors = append(o.Injectors, id)
		}
	}
	return o
}

// rest is the session without the readings held out.
func (h HoldOut) rest(c bench.Checked) (bench.Checked, error) {
	sheet := c.Sheet()
	var kept []bench.Reading
	held := h.mask(sheet.Readings)
	for i, r := range sheet.Readings {
		if !held[i] {
			kept = append(kept, r)
		}
	}
	sheet.Readings, sheet.Notes = kept, nil
	rest, _, err := bench.Check(sheet)
	return rest, err
}

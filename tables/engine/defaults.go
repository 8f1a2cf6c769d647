package engine

import (
	"fmt"

	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// Words for where a default comes from.
const (
	practice = "common practice, no source"
	plainest = "the plainest case"
)

// fullLoad is what holds for an engine on gasoline at full load.
type fullLoad struct {
	bsfc, bsfcLow, bsfcHigh float64 // lb/hph
	lambda                  float64
	veHigh                  unit.Ratio
	words                   string
}

// Full-load figures: consumption and lambda are common practice. Printed examples
// stay inside the range of the first: 305 g/kWh of a V8 on test (Keswani, Internal
// Combustion Engines, 4th ed., example 11.3), 292 and 298 g/kWh (Mathur and Sharma,
// Internal Combustion Engine, examples 18.1 and 18.4), as quoted in open companion
// notebooks. No open full-load figure of a boosted engine was found.
var (
	aspirated = fullLoad{0.50, 0.45, 0.55, 0.88, 0.95, "a naturally aspirated engine"}
	boosted   = fullLoad{0.60, 0.55, 0.65, 0.80, 1.00, "a boosted engine"}
)

func (f *filled) usual() fullLoad {
	if f.Boost > 0 {
		return boosted
	}
	return aspirated
}

// stepAtBoost says why figures step up where boost begins: what was not given is
// another figure for a boosted engine. Empty where nothing steps.
func (f *filled) stepAtBoost() string {
	without, err := f.at(f.RPM, 0)
	with, errWith := f.at(f.RPM, unit.KPa(1))
	if err != nil || errWith != nil {
		return ""
	}
	var what, flag string
	if given(f.crank) && !same(float64(without.BSFC), float64(with.BSFC)) {
		what, flag = fmt.Sprintf("consumption from %.0f to %.0f g/kWh", gkWh(without.BSFC), gkWh(with.BSFC)), "--bsfc"
	}
	if !given(f.crank) && !same(without.Lambda, with.Lambda) {
		what, flag = fmt.Sprintf("lambda from %.2f to %.2f", without.Lambda, with.Lambda), "--lambda"
	}
	if what == "" {
		return ""
	}
	return fmt.Sprintf("The step where boost begins is that of a figure that was not given: %s, as is common for a boosted engine; %s sets one for all.", what, flag)
}

// given tells whether an input was given.
func given[Q ~float64](q Q) bool { return !nearZero(float64(q)) }

// fallback fills q in where it was not given, and writes that down.
func fallback[Q ~float64](f *filled, q *Q, value Q, name, text, source string) {
	if !given(*q) {
		*q = value
		f.use(name, text, source)
	}
}

// optional is the same for an input for which zero has a meaning.
func optional(f *filled, q **unit.Ratio, value unit.Ratio, name, source string) {
	if *q == nil {
		*q = &value
		f.use(name, percent(value), source)
	}
}

func (f *filled) use(name, value, source string) {
	f.defaults = append(f.defaults, Default{name, value, source})
}

func percent(r unit.Ratio) string       { return fmt.Sprintf("%.4g %%", r.Pct()) }
func degrees(t unit.Temperature) string { return fmt.Sprintf("%.3g C", t.C()) }
func gkWh(b unit.Consumption) float64   { return unit.Consumptions.As(b, "g/kWh") }
func lbHph(b unit.Consumption) float64  { return unit.Consumptions.As(b, "lb/hph") }
func consumptionText(b unit.Consumption) string {
	return fmt.Sprintf("%.4g g/kWh (%.3g lb/hph)", gkWh(b), lbHph(b))
}

var gasoline = mustFluid("gasoline")

// mustFluid finds a fluid of the program's own list; another name is a mistake in this
// program, and panics.
func mustFluid(name string) fluid.Fluid {
	f, err := fluid.Lookup(name)
	if err != nil {
		panic("engine: " + err.Error())
	}
	return f
}

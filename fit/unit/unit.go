// Package unit holds a type for each physical quantity of the job, in SI base
// units, and the only conversion factors of the program.
//
// A quantity is made from a number and a named unit (Times.In(0.9, "ms")), read
// from text ("0.9ms"), or named by the suffix of a column (pulse_ms). Mixing two
// quantities is a compile error; what the types can't catch is two quantities of
// one dimension, such as torque and energy.
package unit

import (
	"fmt"
	"strings"
)

// The quantities, each in the SI unit of its comment.
type (
	Time        float64 // s
	Pressure    float64 // Pa, above the pressure at the nozzle unless a name says otherwise
	Voltage     float64 // V
	Resistance  float64 // Ω
	Volume      float64 // m³
	Mass        float64 // kg
	Density     float64 // kg/m³
	Temperature float64 // K
	VolumeFlow  float64 // m³/s
	MassFlow    float64 // kg/s
	Power       float64 // W
	Consumption float64 // kg/J, brake-specific fuel consumption
	Heat        float64 // J/kg, lower heating value
	Length      float64 // m
	Frequency   float64 // Hz
	Ratio       float64 // 1
)

// A Unit is one way of writing a quantity: SI value = number·Num/Den + Offset.
// Num and Den are kept apart so that powers of ten stay exact.
type Unit struct {
	Symbol   string  // as typed behind a number: "ms", "cc/min"
	Suffix   string  // as the end of a column's name: "_ms"
	UCUM     string  // code of the Unified Code for Units of Measure
	Num, Den float64 // exact where the definition is
	Offset   float64 // only temperatures have one
}

// A Kind is a quantity's name and the units it may be written in.
type Kind[Q ~float64] struct {
	Name  string // "a time"
	Units []Unit // the first is the one shown in examples
}

// Lookup finds a unit by its symbol; letter case is ignored.
func (k Kind[Q]) Lookup(symbol string) (Unit, bool) {
	for _, u := range k.Units {
		if strings.EqualFold(u.Symbol, symbol) {
			return u, true
		}
	}
	return Unit{}, false
}

// BySuffix finds a unit by the suffix of a column's name, such as "_ms".
func (k Kind[Q]) BySuffix(suffix string) (Unit, bool) {
	for _, u := range k.Units {
		if u.Suffix != "" && strings.EqualFold(u.Suffix, suffix) {
			return u, true
		}
	}
	return Unit{}, false
}

// In gives the quantity that is x of the unit with this symbol. It panics on a
// symbol that the kind does not have: a mistake of the program, not of a user.
func (k Kind[Q]) In(x float64, symbol string) Q { return Q(k.must(symbol).SI(x)) }

// As gives q as a number of the unit with this symbol; it panics as In does.
func (k Kind[Q]) As(q Q, symbol string) float64 { return k.must(symbol).Of(float64(q)) }

func (k Kind[Q]) must(symbol string) Unit {
	u, ok := k.Lookup(symbol)
	if !ok {
		panic(fmt.Sprintf("unit: %s has no unit %q", k.Name, symbol))
	}
	return u
}

// Symbols lists the units as a sentence does: "ms, us, s or min".
func (k Kind[Q]) Symbols() string {
	names := make([]string, len(k.Units))
	for i, u := range k.Units {
		names[i] = u.Symbol
	}
	return orList(names)
}

// Suffixes lists the suffixes that a column of this quantity may carry.
func (k Kind[Q]) Suffixes() []string {
	var s []string
	for _, u := range k.Units {
		if u.Suffix != "" {
			s = append(s, u.Suffix)
		}
	}
	return s
}

// SI turns a number of this unit into the SI value.
func (u Unit) SI(x float64) float64 { return x*u.Num/u.Den + u.Offset }

// Of turns an SI value into a number of this unit.
func (u Unit) Of(si float64) float64 { return (si - u.Offset) * u.Den / u.Num }

func orList(names []string) string {
	if n := len(names); n > 1 {
		return strings.Join(names[:n-1], ", ") + " or " + names[n-1]
	}
	return strings.Join(names, "")
}

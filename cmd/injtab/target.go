package main

import (
	"github.com/spf13/pflag"

	"injtab/fit"
	"injtab/fit/bench"
	"injtab/fit/fluid"
	"injtab/fit/unit"
	"injtab/tables/engine"
)

// A targetChoice is what the flags say is to change.
type targetChoice struct {
	boost    *unit.Pressure
	rpm      float64
	power    unit.Power
	pressure unit.Pressure
	fuel     string
}

// boostValue is a flag's value for a pressure of which zero means something.
type boostValue struct {
	to   **unit.Pressure
	text string
}

func (b *boostValue) Set(text string) error {
	p, err := unit.Pressures.Parse(text)
	b.text, *b.to = text, &p
	return err
}

func (b *boostValue) String() string { return b.text }
func (b *boostValue) Type() string   { return "kPa" }

func (t *targetChoice) register(f *pflag.FlagSet) {
	f.Var(&boostValue{to: &t.boost}, "target-boost", "boost to come")
	f.Var(&number{to: &t.rpm}, "target-rpm", "speed to come, in turns per minute")
	quantityFlag(f, &t.power, unit.Powers, "target-power", "power to come")
	quantityFlag(f, &t.pressure, unit.Pressures, "target-pressure", "rail pressure (gauge) to come, at zero boost")
	f.StringVar(&t.fuel, "target-fuel", "", "`FUEL` to come")
}

func (t targetChoice) complete() (engine.Target, error) {
	out := engine.Target{Boost: t.boost, RPM: t.rpm, Power: t.power, Pressure: t.pressure}
	if t.fuel == "" {
		return out, nil
	}
	f, err := fluid.Lookup(t.fuel)
	if err != nil {
		return out, usage("--target-fuel: %w", err)
	}
	out.Fuel = f
	return out, nil
}

// memberNames are the fitted injectors, soundNames those judged sound.
func memberNames(m *fit.Model) (ids []string) {
	for _, x := range m.Members {
		ids = append(ids, x.ID)
	}
	return ids
}

func soundNames(m *fit.Model) (ids []string) {
	for _, x := range m.Members {
		if x.Verdict == bench.Sound {
			ids = append(ids, x.ID)
		}
	}
	if ids == nil {
		return memberNames(m)
	}
	return ids
}

package main

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"github.com/spf13/pflag"

	"injtab/fit/bench"
	"injtab/fit/unit"
	"injtab/tables"
)

// round is a flag's value: the round numbers that chosen breakpoints shall be, such as
// 0.05ms,0.5V,10kPa, each for the axis of its quantity.
type round struct {
	to   *tables.Options
	text string
}

func (r *round) Set(text string) error {
	r.text = text
	for item := range strings.SplitSeq(text, ",") {
		axis, x, err := onAxis(item)
		if err != nil {
			return err
		}
		if x <= 0 {
			return fmt.Errorf("%q: a grid of round numbers needs a step above zero", item)
		}
		switch axis {
		case "voltage_v":
			r.to.Voltage.Round = x
		case "pressure_kpa":
			r.to.Pressure.Round = x
		default:
			r.to.Pulse.Round = x
		}
	}
	return nil
}

func (r *round) String() string { return r.text }
func (r *round) Type() string   { return "steps" }

// weights is a flag's value: how much a miss counts at places of the axes, such as
// 1.5ms=3,13.8V=2.
type weights struct {
	to   *[]tables.Weight
	text string
}

func (w *weights) Set(text string) error {
	w.text, *w.to = text, nil
	for item := range strings.SplitSeq(text, ",") {
		place, much, found := strings.Cut(item, "=")
		by, err := strconv.ParseFloat(strings.TrimSpace(much), 64)
		if !found || err != nil {
			return fmt.Errorf("%q is not understood: write place=weight, such as 1.5ms=3", item)
		}
		axis, x, err := onAxis(place)
		if err != nil {
			return err
		}
		weight := tables.Weight{Axis: axis, At: x, By: by}
		if err := weight.Check(); err != nil {
			return err
		}
		*w.to = append(*w.to, weight)
	}
	return nil
}

func (w *weights) String() string { return w.text }
func (w *weights) Type() string   { return "place=weight" }

// onAxis tells by its unit which axis a quantity belongs to.
func onAxis(text string) (axis string, x float64, err error) {
	if t, err := unit.Times.Parse(text); err == nil {
		return "effective_ms", t.Ms(), nil
	}
	if v, err := unit.Voltages.Parse(text); err == nil {
		return "voltage_v", v.V(), nil
	}
	if p, err := unit.Pressures.Parse(text); err == nil {
		return "pressure_kpa", p.KPa(), nil
	}
	return "", 0, fmt.Errorf("%q is no place on an axis: write a pulse (ms), a voltage (V) or a pressure (kPa) with its unit", text)
}

// A pasteChoice is how --print writes a table.
type pasteChoice struct {
	options tables.PasteOptions
	step    string
}

func (p *pasteChoice) register(f *pflag.FlagSet) {
	f.StringVar(&p.options.Unit, "unit", "", "with --print: `UNIT` of the cells: ms or us; ml/min, cc/min, g/min or lb/h")
	f.StringVar(&p.options.PressureUnit, "pressure-unit", "", "with --print: `UNIT` of a pressure axis: kPa, bar or psi")
	f.StringVar(&p.step, "round", "", "with --print: cells are multiples of this `STEP`, such as 5us, 0.5% or 1ml/min")
	quantityFlag(f, &p.options.Gauge, unit.Pressures, "add-pressure", "with --print: added to a pressure axis, for an ECU that looks up rail gauge pressure")
	f.BoolVar(&p.options.Axes, "axes", false, "with --print: the axes too")
	f.BoolVar(&p.options.Transpose, "transpose", false, "with --print: rows become columns")
	f.BoolVar(&p.options.ReverseRows, "reverse-rows", false, "with --print: the last row first")
	f.BoolVar(&p.options.ReverseColumns, "reverse-columns", false, "with --print: the last column first")
}

// given tells whether anything was said that --print alone can use.
func (p pasteChoice) given() bool { return p != pasteChoice{} }

// steps reads the step of the cells.
func (p *pasteChoice) steps() error {
	if p.step == "" {
		return nil
	}
	number := strings.TrimRightFunc(p.step, func(r rune) bool { return r != '.' && !unicode.IsDigit(r) })
	x, err := unit.Number(number)
	if err != nil || x <= 0 {
		return usage("--round: %q is no step: write one with the unit that the cells are printed in, such as 5us, 0.5%% or 1ml/min", p.step)
	}
	p.options.Step, p.options.StepUnit = x, strings.TrimSpace(p.step[len(number):])
	if p.options.StepUnit == "" {
		return usage("--round: %q has no unit: write the one that the cells are printed in, such as 5us, 0.5%% or 1ml/min", p.step)
	}
	return nil
}

// complete finds the density of what the flows are for.
func (p *pasteChoice) complete(t tableChoice, s bench.Setup) {
	f, temp := s.Fluid, s.Temp
	if t.options.Fuel != nil {
		f, temp = *t.options.Fuel, t.options.FuelTemp
	}
	if temp == 0 {
		temp = unit.Celsius(20)
	}
	if t.options.Fuel != nil || s.HasFluid {
		p.options.Density = f.At(temp)
	}
}

// readAxes takes the axes that an ECU has from a file.
func (a *app) readAxes(path string, o *tables.Options) error {
	if path == "" {
		return nil
	}
	f, err := a.openInput(path)
	if err != nil {
		return usage("--axis-file: %w", err)
	}
	defer f.Close()
	return tables.ReadAxes(f, path, o)
}

package tables

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"injtab/fit"
	"injtab/fit/bench"
	"injtab/fit/diag"
	"injtab/fit/fluid"
	"injtab/fit/unit"
)

// Options say what the tables shall look like; the zero value is a good choice.
type Options struct {
	Pressure AxisSpec // kPa
	Voltage  AxisSpec // V
	Pulse    AxisSpec // effective pulse, ms

	Injectors []string       // ids the tables are for; nil: all sound ones
	Cylinders map[string]int // cylinder of an injector's id; absent: not seated

	Fuel        *fluid.Fluid     // nil: tables are for the bench fluid
	FuelTemp    unit.Temperature // of the fuel at the injector
	Extrapolate bool             // fill cells however far from the readings
	RawTrims    bool             // keep trims smaller than their uncertainty
	Step        float64          // ms, of the ECU's times; 0: 0.001
	Profile     []Weight         // where the engine runs; nil: everywhere alike
	Each        bool             // a whole set of tables of its own for each injector too
}

// A Set is all tables of a session and what they are for.
type Set struct {
	Tables []Table
	Notes  []diag.Note
	Facts  []Fact
	// VolumeFactor is by what a flow in the tables exceeds the bench fluid's: √(ρ_bench/ρ_fuel), 1 without a fuel.
	VolumeFactor float64
	ReferenceP   float64 // kPa
	ReferenceV   float64 // V
	Gains        []Gain  // of chosen breakpoints over evenly spaced ones
	Rounding     Rounding
	Liquid       fluid.Fluid  // that flows and volumes are of; zero: not known
	Density      unit.Density // of it, there
	InFuel       bool         // it is a fuel that was asked for, not the bench fluid
}

// Find gives a table by its name.
func (s Set) Find(name string) (Table, bool) {
	for _, t := range s.Tables {
		if t.Name == name {
			return t, true
		}
	}
	return Table{}, false
}

// A builder holds what all tables are made from.
type builder struct {
	m        *fit.Model
	o        Options
	who      fit.Who
	factor   float64 // volume of the fuel per volume of the bench fluid, same orifice
	refP     unit.Pressure
	refV     unit.Voltage
	profiles map[string]profile
	carry    carrier
	notes    []diag.Note
	gains    []Gain
	means    *means
}

// Build makes every table that the session supports.
func Build(m *fit.Model, o Options) (Set, error) {
	b := &builder{m: m, o: o, factor: 1, means: &means{}, refP: m.RefP, refV: m.RefV}
	if err := b.check(); err != nil {
		return Set{}, err
	}
	b.noteAssumed()
	b.carry = b.newCarrier()
	exact, compact := b.lookedUp()
	written := make([]Table, len(exact))
	for i, t := range exact {
		written[i] = b.rounded(t)
		written[i].Row.Decimals = fewestDigits(t.RowAt, t.Row.Decimals)
	}
	out := Set{Tables: written, ReferenceP: b.refP.KPa(), ReferenceV: b.refV.V(), VolumeFactor: b.factor}
	out.Liquid, out.Density = b.liquid()
	out.InFuel = b.o.Fuel != nil
	last := b.sideBySide(
		func(*builder) []Table { return []Table{Deviation(m.Checked)} }, one((*builder).limits),
		func(b *builder) []Table { return []Table{b.spreadLeft(written)} },
		func(b *builder) []Table { out.Rounding = b.rounding(exact, written); return nil })
	out.Tables = append(append(out.Tables, slices.Concat(last...)...), compact)
	out.Gains = b.gains
	out.Notes = append(b.notes, m.Notes...)
	out.Facts = b.facts()
	return out, nil
}

// check refuses options that make no tables, in the words of the flags that set them.
func (b *builder) check() (err error) {
	for _, a := range []struct {
		spec     AxisSpec
		name     string
		physical span
	}{
		{b.o.Pressure, "--pressure-axis", pressureSpan},
		{b.o.Voltage, "--voltage-axis", voltageSpan},
		{b.o.Pulse, "--pulse-axis", pulseSpan},
	} {
		if err := a.spec.Check(a.name, a.physical.least, a.physical.most); err != nil {
			return err
		}
	}
	if b.profiles, err = profiles(b.o.Profile); err != nil {
		return err
	}
	if err := b.pickStep(); err != nil {
		return err
	}
	if err := b.pickInjectors(); err != nil {
		return err
	}
	if err := b.checkSeats(); err != nil {
		return err
	}
	return b.pickFuel()
}

// The steps in ms that an ECU's times may have, and the usual one.
const (
	leastStep, usualStep, mostStep = 1e-6, 0.001, 0.5
)

func (b *builder) pickStep() error {
	switch s := b.o.Step; {
	case s == 0:
		b.o.Step = usualStep
	case !(s >= leastStep && s <= mostStep):
		return fmt.Errorf("--step: times in steps of %g ms can't be used: give %g to %g ms", s, leastStep, mostStep)
	}
	return nil
}

// checkSeats refuses two injectors in one cylinder, and seats for injectors that the
// tables are not for.
func (b *builder) checkSeats() error {
	taken := map[int]string{}
	for _, g := range b.who {
		id := b.m.Members[g].ID
		switch c := b.o.Cylinders[id]; {
		case c < 0:
			return fmt.Errorf("injector %s is seated in cylinder %d: cylinders are counted from 1", id, c)
		case c > 0 && taken[c] != "":
			return fmt.Errorf("cylinder %d is given to injectors %s and %s: each cylinder has one", c, taken[c], id)
		case c > 0:
			taken[c] = id
		}
	}
	if len(taken) == 0 && len(b.o.Cylinders) == 0 {
		return nil
	}
	for _, id := range slices.Sorted(maps.Keys(b.o.Cylinders)) {
		if c := b.o.Cylinders[id]; c > 0 && taken[c] != id {
			return fmt.Errorf("injector %q in cylinder %d is not among those that the tables are for: name it with --injectors, or leave its seat out", id, c)
		}
	}
	return nil
}

// noteAssumed puts at the head of all notes what the tables do not rest on readings for.
func (b *builder) noteAssumed() {
	if b.assumesPressure() {
		b.notes = append(b.notes, diag.Warn("assumed_pressure", "ONE pressure was measured (%s kPa): every flow and dead time at another pressure is assumed, not measured", number(round(b.m.FlowPressures()[0], 1))))
	}
	if b.assumesVoltage() {
		b.notes = append(b.notes, diag.Warn("assumed_voltage", "ONE voltage was measured (%s V): every dead time at another voltage is assumed, not measured", number(round(b.m.Voltages()[0], 2))))
	}
}

func (b *builder) pickInjectors() error {
	if b.o.Injectors == nil {
		for i, x := range b.m.Members {
			if x.Verdict == bench.Sound {
				b.who = append(b.who, i)
			}
		}
		if len(b.who) == 0 {
			b.who = b.m.Everyone()
		}
		return nil
	}
	seen := map[string]bool{}
	for _, id := range b.o.Injectors {
		i, ok := b.m.Find(id)
		if !ok {
			return fmt.Errorf("injector %q can't be used: it is not among the fitted ones (%s)", id, memberList(b.m))
		}
		if seen[id] {
			return fmt.Errorf("injector %q is named twice", id)
		}
		seen[id] = true
		b.who = append(b.who, i)
	}
	return nil
}

func memberList(m *fit.Model) (s string) {
	for i, x := range m.Members {
		if i > 0 {
			s += ", "
		}
		s += x.ID
	}
	return s
}

func (b *builder) pickFuel() error {
	if b.o.Fuel == nil {
		return nil
	}
	setup := b.m.Checked.Setup()
	if !setup.HasFluid {
		return fmt.Errorf("--fuel needs to know the bench fluid: add a line `# fluid = …` or `# density_kg_m3 = …` to the bench file")
	}
	b.factor = fluid.VolumeFactor(setup.Fluid.At(benchTemp(setup)), b.o.Fuel.At(b.fuelTemp()))
	if caveat := fluid.ViscosityCaveat(setup.Fluid, *b.o.Fuel); caveat != "" {
		b.notes = append(b.notes, diag.Warn("viscosity", "%s", caveat))
	}
	return nil
}

// benchTemp is the temperature of the bench fluid; that of its density where none was
// given.
func benchTemp(setup bench.Setup) unit.Temperature {
	if setup.Temp > 0 {
		return setup.Temp
	}
	return setup.Fluid.RefTemp
}

func (b *builder) fuelTemp() unit.Temperature {
	if b.o.FuelTemp == 0 {
		return unit.Celsius(20)
	}
	return b.o.FuelTemp
}

func (b *builder) facts() []Fact {
	sheet := b.m.Checked.Sheet()
	ids := make([]string, len(b.who))
	for i, g := range b.who {
		ids[i] = b.m.Members[g].ID
	}
	fuel := "bench fluid"
	if b.o.Fuel != nil {
		fuel = fmt.Sprintf("%s at %.0f °C", b.o.Fuel.Title, b.fuelTemp().C())
	}
	facts := []Fact{
		{"Bench file", sheet.File}, {"SHA-256", sheet.SHA256},
		{"Injectors", strings.Join(ids, ", ")}, {"Flows are for", fuel},
		{"Reference pressure", fmt.Sprintf("%.4g kPa", b.refP.KPa())},
		{"Reference voltage", fmt.Sprintf("%.4g V", b.refV.V())},
		{"Form of the model", b.m.Form()},
	}
	if d := sheet.Setup.Driver; d != "" {
		facts = append(facts, Fact{"Measured with driver", d})
	}
	return facts
}

// cell turns an estimate into a cell whose value may have been chosen for the
// table as a whole; empty where that could not be had.
func cell(e fit.Estimate, value, by float64) Cell {
	if math.IsNaN(value) && e.Status.HasValue() {
		e.Status = diag.NotMeasured
	}
	if !e.Status.HasValue() {
		return Cell{Basis: e.Basis, Status: e.Status}
	}
	return Cell{Value: value * by, CI95: e.CI95() * by, Basis: e.Basis, Status: e.Status}
}

// Kinds are the names of the tables that Build makes, of those that every session or a
// flag may give.
func Kinds() []string {
	return []string{"flow", "dead_time", "short_pulse", "short_pulse_by_voltage", "trims", "trims_by_pulse",
		"fuel_to_pulse", "deviation", "limits", "spread_left", "compact"}
}

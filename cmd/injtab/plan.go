package main

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"injtab/fit/fluid"
	"injtab/fit/unit"
	"injtab/tables/plan"
)

const planAbout = `Says which readings to take, in which order, with how many shots, how long that takes and
how sure the result will be, and writes the form to fill in at the bench: XLSX with a
check of each amount against what is expected, or CSV. The filled form is a bench file.
Points are chosen so that the worst uncertainty of what the tables need is as small as the
bench time allows.`

const planExample = `  injtab plan --injectors 8 --slots 4 --flow 300ml/min --vessel 100ml -o session.xlsx
  injtab plan --injectors 3,7,12 --slots 3 --purpose match --flow 310cc/min --vessel 200ml --bench-time 45min
  injtab plan --injectors 4 --slots 4 --pressure-range 200,400kPa --voltage-range 9,15V --vessel 100ml --json
`

// A planChoice is what the flags of plan say.
type planChoice struct {
	in        plan.Inputs
	injectors string
	purpose   string
	fluid     string
	out       string
	force     bool
	wide      bool
}

func (a *app) planVerb() *cobra.Command {
	var p planChoice
	c := a.verb("plan", "Plan a bench session and write the form to fill in", planAbout, planExample, files())
	f := c.Flags()
	f.StringVarP(&p.out, "output", "o", "", "form `FILE` to write: .xlsx or .csv")
	f.BoolVar(&p.wide, "wide", false, "a form with a column for each injector and one run a row")
	f.BoolVar(&p.force, "force", false, "replace a form that exists")
	p.register(f)
	p.registerBench(f)
	a.longForms(f, "one row a point")
	c.RunE = func(*cobra.Command, []string) error { return a.plan(p) }
	return c
}

// register adds what is known of the injectors and what is wanted.
func (p *planChoice) register(f *pflag.FlagSet) {
	in := &p.in
	f.StringVar(&in.Title, "title", "", "what the session is `called`")
	f.StringVar(&p.injectors, "injectors", "", "how many, or what is written on them: `count|ids`")
	f.StringVar(&p.purpose, "purpose", string(plan.Both), "match: compare at one condition; map: dead time and flow over voltage and pressure; both")
	quantityFlag(f, &in.Flow, unit.VolumeFlows, "flow", "expected static flow at rated pressure")
	quantityFlag(f, &in.RatedPressure, unit.Pressures, "rated-pressure", "pressure at which flows are quoted (default 300kPa)")
	quantityFlag(f, &in.DeadTime, unit.Times, "dead-time", "expected dead time at rated pressure and 13.5V")
	quantityFlag(f, &in.ClosingTime, unit.Times, "closing-time", "time that the injector needs to close")
	quantityFlag(f, &in.Resistance, unit.Resistances, "resistance", "of the coil")
	quantityFlag(f, &in.Period, unit.Times, "period", "time from one pulse to the next (default 20ms)")
	quantityFlag(f, &in.Frequency, unit.Frequencies, "frequency", "instead of the period")
	f.Var(&share{to: &in.Target}, "target", "standard uncertainty wanted of delivered fuel (default 1%)")
	quantityFlag(f, &in.BenchTime, unit.Times, "bench-time", "time there is, such as 90min (default: as long as the target takes)")
	f.StringVar(&in.Reference, "reference", "", "injector `ID` to take part in every run (default: the first)")
}

// registerBench adds what is known of the bench.
func (p *planChoice) registerBench(f *pflag.FlagSet) {
	in := &p.in
	f.IntVar(&in.Slots, "slots", 0, "injectors that run together, each above a vessel of its own")
	quantityFlag(f, &in.Vessel.Capacity, unit.Volumes, "vessel", "capacity of a vessel")
	quantityFlag(f, &in.Vessel.TopMark, unit.Volumes, "top-mark", "its highest mark (default: the capacity)")
	quantityFlag(f, &in.Vessel.Division, unit.Volumes, "division", "its smallest division (default: as usual for the capacity)")
	quantityFlag(f, &in.Vessel.Tolerance, unit.Volumes, "vessel-tolerance", "limit of error of its calibration (default: class B)")
	quantityFlag(f, &in.Scale.Capacity, unit.Masses, "beaker", "capacity of a beaker on a scale, instead of a vessel")
	quantityFlag(f, &in.Scale.Step, unit.Masses, "scale-step", "step of that scale")
	quantityFlag(f, &in.Scale.Tolerance, unit.Masses, "scale-tolerance", "its limit of error (default: one step)")
	listFlag(f, &in.Pressures, unit.Pressures, "pressures", "pressures to use, such as 250,300,350kPa")
	f.Var(&span[unit.Pressure]{kind: unit.Pressures, to: &in.PressureRange}, "pressure-range", "instead: lowest and highest that the bench holds, such as 200,400kPa")
	listFlag(f, &in.Voltages, unit.Voltages, "voltages", "voltages to use, such as 9,11,13.5V")
	f.Var(&span[unit.Voltage]{kind: unit.Voltages, to: &in.VoltageRange}, "voltage-range", "instead: lowest and highest of the supply, such as 8,15V")
	f.Var(&share{to: &in.PressureLimit}, "pressure-uncertainty", "limit of error of the gauge (default 0.5%)")
	f.Var(&share{to: &in.VoltageLimit}, "voltage-uncertainty", "limit of error of the voltmeter (default 0.4%)")
	quantityFlag(f, &in.TimerLimit, unit.Times, "timer-uncertainty", "limit of error of a pulse (default 5us)")
	f.StringVar(&p.fluid, "fluid", "", "`FLUID` on the bench; `injtab fluids` lists them")
	quantityFlag(f, &in.AtHand, unit.Volumes, "fluid-at-hand", "how much of it there is")
	quantityFlag(f, &in.Handling, unit.Times, "handling", "time to empty, read and write down after a run (default 60s)")
	quantityFlag(f, &in.Settling, unit.Times, "settling", "time to set another pressure or voltage (default 30s)")
	quantityFlag(f, &in.Seating, unit.Times, "seating", "time to change the injectors on the rail (default 10min)")
}

// complete reads what the flags' library does not.
func (p *planChoice) complete() (err error) {
	switch n, notNumber := strconv.Atoi(strings.TrimSpace(p.injectors)); {
	case p.injectors == "":
		return usage("say how many injectors there are, or what is written on them: --injectors 8, or --injectors 3,7,12")
	case notNumber == nil:
		p.in.Number = n
	default:
		if p.in.IDs, err = splitList(p.injectors); err != nil {
			return usage("--injectors: %w", err)
		}
	}
	switch p.in.Purpose = plan.Purpose(p.purpose); p.in.Purpose {
	case plan.Match, plan.Map, plan.Both:
	default:
		return usage("--purpose: %q is not known: write %s, %s or %s", p.purpose, plan.Match, plan.Map, plan.Both)
	}
	if p.fluid != "" {
		f, err := fluid.Lookup(p.fluid)
		if err != nil {
			return usage("--fluid: %w", err)
		}
		p.in.Fluid = &f
	}
	return nil
}

func (a *app) plan(p planChoice) error {
	if err := p.complete(); err != nil {
		return err
	}
	write, err := formWriter(p.out)
	if err != nil {
		return err
	}
	if p.out != "" {
		if err := a.output(p.out, p.force).CheckFile(); err != nil {
			return err
		}
	}
	done := a.working("choosing points")
	made, err := plan.Make(p.in)
	done()
	if err != nil {
		return usageError{err}
	}
	if p.out != "" {
		form := made.Workbook()
		if p.wide {
			form = made.WideWorkbook()
		}
		var buf bytes.Buffer
		if err := write(&buf, form); err != nil {
			return err
		}
		if err := a.writeFile(a.output(p.out, p.force), buf.Bytes()); err != nil {
			return err
		}
	}
	a.remark(made.Notes...)
	report := made.Report()
	if p.out != "" {
		report.Answer = append(report.Answer, fmt.Sprintf("The form to fill in is %s; then: injtab check %s", p.out, p.out))
		tableOf(report, "points").Aside = true // the form has them
	}
	return a.show(result{json: made, report: report, table: tableOf(report, "points")})
}

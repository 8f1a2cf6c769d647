package main

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"injtab/fit"
	"injtab/fit/diag"
	"injtab/fit/fluid"
	"injtab/fit/unit"
	"injtab/tables/engine"
)

const headroomAbout = `Finds how much of the time between two pulses the injectors use now and at a target, and
where they reach the duty limit. The injectors are those of a bench file (--bench, with
--ids for some of them) or one known by --flow and --dead-time. With a target, exit 1
says that the target goes beyond the limit.`

const headroomExample = `  injtab demo
  injtab headroom --bench injtab-demo/bench.csv --engine injtab-demo/engine.yaml --ids L1,L3,L4,L8,L9,L11
  injtab headroom --flow 310ml/min --dead-time 0.6ms --power 185kW --cylinders 6 --rpm 5200 --target-power 200kW
`

// A headroomChoice is what the flags of headroom say.
type headroomChoice struct {
	engine    engineChoice
	bench     string
	injectors []string
	fit       fit.Options
	target    targetChoice
	plots     plotChoice
}

func (a *app) headroomVerb() *cobra.Command {
	var h headroomChoice
	c := a.verb("headroom", "Find the duty headroom now and at a target", headroomAbout, headroomExample, files())
	f := c.Flags()
	f.StringVar(&h.bench, "bench", "", "bench `FILE` of the injectors")
	f.Var(&names{to: &h.injectors}, "ids", "injectors of the bench file that are in the engine (default: all sound ones)")
	fitFlags(f, &h.fit)
	h.target.register(f)
	h.plots.register(f, "plot")
	a.longForms(f, "duty over speed and boost")
	h.engine.register(f)
	c.RunE = func(*cobra.Command, []string) error { return a.headroom(h) }
	return c
}

func (a *app) headroom(h headroomChoice) error {
	if err := a.checkPlots(h.plots, h.bench, h.engine.file); err != nil {
		return err
	}
	in, err := a.engineInputs(h.engine)
	if err != nil {
		return err
	}
	target, err := h.target.complete()
	if err != nil {
		return err
	}
	set, err := a.injectorsOf(h, &in)
	if err != nil {
		return err
	}
	r, err := engine.Headroom(in, set, target)
	if err != nil {
		return h.engine.wrong(err)
	}
	a.remark(r.Notes()...)
	report := r.Report()
	report.Answer = append(report.Answer, h.counted(in, set)...)
	if err := a.writePlots(h.plots, report); err != nil {
		return err
	}
	if err := a.show(result{json: r, report: report, table: tableOf(report, "duty")}); err != nil {
		return err
	}
	if target.Any() && !r.Within() {
		return brokenLimit{fmt.Errorf("the target goes beyond the duty limit of %.4g %%", r.Limit)}
	}
	return nil
}

// counted says which injectors were counted, where the engine has another number.
func (h headroomChoice) counted(in engine.Inputs, set []engine.Injector) []string {
	if need := cmp.Or(in.Injectors, in.Cylinders); h.bench == "" || h.injectors != nil || len(set) == need {
		return nil
	}
	var names []string
	for _, x := range set {
		names = append(names, x.Name())
	}
	return []string{fmt.Sprintf("Counted were all sound injectors of the bench file (%s); name those that are in the engine: --ids.", strings.Join(names, ", "))}
}

// measuredInstead leaves out of an engine file what a bench file says better.
func (a *app) measuredInstead(in engine.Inputs, file string) engine.Inputs {
	in, unused := in.WithoutInjector()
	if len(unused) > 0 {
		a.warn(diag.Warn("superseded", "%s: not used: %s; the bench file says it of each injector", file, strings.Join(unused, ", ")))
	}
	return in
}

// injectorsOf are the injectors of the bench file, or the one of the flags.
func (a *app) injectorsOf(h headroomChoice, in *engine.Inputs) ([]engine.Injector, error) {
	if h.bench == "" {
		if h.injectors != nil || h.fit.Assume {
			return nil, usage("--ids and --assume speak of a bench file: name it with --bench")
		}
		sheet, err := in.DataSheet()
		if err != nil {
			return nil, h.engine.wrong(err)
		}
		return []engine.Injector{sheet}, nil
	}
	if flag, ok := h.engine.gives(engine.InjectorKeys...); ok {
		return nil, usage("--bench and --%s exclude each other: the bench file says what the injectors flow and when they open", flag)
	}
	*in = a.measuredInstead(*in, h.engine.file)
	s, m, err := a.fitSession(h.bench, h.fit)
	if err != nil {
		return nil, err
	}
	a.warn(s.notes...)
	a.warn(m.Notes...)
	return benchInjectors(m, h.injectors)
}

// benchInjectors are members of a model as the engine needs them; ids nil: all
// sound ones.
func benchInjectors(m *fit.Model, ids []string) (out []engine.Injector, err error) {
	if !m.Checked.Setup().HasFluid {
		return nil, fmt.Errorf("%s: the bench fluid is not known, so its flow can't be turned into the engine's fuel: add a line `# fluid = …` or `# density_kg_m3 = …`", m.Checked.Sheet().File)
	}
	if ids == nil {
		ids = soundNames(m)
	}
	for _, id := range ids {
		g, ok := m.Find(id)
		if !ok {
			return nil, usage("--ids: %q is not among the fitted injectors%s", id, meant(id, memberNames(m), ""))
		}
		out = append(out, benchInjector{m, g})
	}
	return out, nil
}

// A benchInjector is a member of a fitted model as the engine's side sees it.
type benchInjector struct {
	m *fit.Model
	g int
}

func (b benchInjector) Name() string { return b.m.Members[b.g].ID }

func (b benchInjector) Fluid() (fluid.Fluid, unit.Temperature) {
	setup := b.m.Checked.Setup()
	if setup.Temp > 0 {
		return setup.Fluid, setup.Temp
	}
	return setup.Fluid, setup.Fluid.RefTemp
}

func (b benchInjector) Static(dp unit.Pressure) (flow, ci95 unit.VolumeFlow) {
	e := b.m.Flow(fit.Who{b.g}, dp)
	return unit.MlMin(e.Value), unit.MlMin(e.CI95())
}

func (b benchInjector) DeadTime(dp unit.Pressure, v unit.Voltage) (unit.Time, error) {
	d := b.m.DeadTimeOf(b.g, dp, v)
	if math.IsNaN(d) {
		if b.m.DeadTime(fit.Who{b.g}, dp, v).Status == diag.DoesNotOpen {
			return 0, fmt.Errorf("it does not open at %.4g kPa and %.4g V", dp.KPa(), v.V())
		}
		return 0, fmt.Errorf("its dead time at %.4g kPa and %.4g V is not known: measure there, or give --assume", dp.KPa(), v.V())
	}
	return unit.Ms(d), nil
}

func (b benchInjector) Beyond(dp unit.Pressure, v unit.Voltage) string {
	who := fit.Who{b.g}
	how := "follow the fitted curves, drawn on"
	switch max(b.m.Flow(who, dp).Basis, b.m.DeadTime(who, dp, v).Basis) {
	case diag.Measured, diag.Interpolated:
		return ""
	case diag.Assumed:
		how = "follow a generic curve (--assume)"
	}
	return fmt.Sprintf("%.4g kPa and %.4g V lie beyond the readings (%s kPa, %s V): flow and dead time there %s. Measure there before you rely on it.",
		dp.KPa(), v.V(), reach(b.m.FlowPressures()), reach(b.m.Voltages()), how)
}

// reach is from where to where values go.
func reach(list []float64) string {
	if len(list) == 0 {
		return "none"
	}
	from, to := fmt.Sprintf("%.4g", list[0]), fmt.Sprintf("%.4g", list[len(list)-1])
	if from == to {
		return from
	}
	return from + " to " + to
}

func (b benchInjector) LinearFrom() unit.Time { return unit.Ms(b.m.Members[b.g].LinearFrom) }

package tables

import (
	"fmt"
	"math"
	"slices"

	"injtab/fit"
	"injtab/fit/bench"
	"injtab/fit/unit"
)

// A Verification is how well tables that were read back agree with readings, used
// as an ECU uses them. An error is 100·(m_table − m_read)/m_read, with m_table the
// volume whose looked-up pulse is the reading's: positive means that the injector
// delivers less than the table assumes, lean.
type Verification struct {
	FormErrors                      // of the contract's own rule: percentage and added time, one-way correction
	OutsideAxes      int            `json:"outside_axes"`
	Worst            *Miss          `json:"worst"`
	OutsideTolerance int            `json:"outside_tolerance"`
	WithinPct        float64        `json:"within_pct,omitempty"`
	Apart            Apart          `json:"counted_apart"`
	Forms            []FormErrors   `json:"forms"`
	Regions          []RegionErrors `json:"regions"`
	Misses           []Miss         `json:"worst_readings"`
	Edited           []string       `json:"edited_files,omitempty"`
	HeldOut          string         `json:"held_out,omitempty"`
	Shares           *ErrorShares   `json:"error_shares,omitempty"`
	all              map[formKey][]Miss
	keys             []formKey
	modelMisses      []float64
}

// FormErrors sums up the errors of one way of using the tables.
type FormErrors struct {
	Form     string  `json:"form"`
	TwoWay   bool    `json:"short_pulse_by_voltage"`
	Points   int     `json:"points"`
	MeanAbs  float64 `json:"mean_abs_error_pct"`
	P95      float64 `json:"p95_error_pct"`
	Max      float64 `json:"max_error_pct"`
	MeanSign float64 `json:"mean_error_pct"`
}

// RegionErrors sums up the errors of one region of pulse, pressure and voltage.
type RegionErrors struct {
	Pulse       string  `json:"pulse_region"`
	PressureKPa float64 `json:"pressure_kpa"`
	VoltageV    float64 `json:"voltage_v"`
	Points      int     `json:"points"`
	MeanAbs     float64 `json:"mean_abs_error_pct"`
	Max         float64 `json:"max_error_pct"`
}

// A Miss is one reading's error.
type Miss struct {
	Injector    string  `json:"injector"`
	PulseMs     float64 `json:"pulse_ms"`
	PressureKPa float64 `json:"pressure_kpa"`
	VoltageV    float64 `json:"voltage_v"`
	ErrorPct    float64 `json:"error_pct"`
	Line        int     `json:"line,omitempty"`
	Effective   float64 `json:"effective_ms"`
	noisePct    float64
}

// Apart counts the readings that are not among the points.
type Apart struct {
	Static   int `json:"held_open"`
	Leak     int `json:"leak"`
	Zero     int `json:"zero"`
	Rejected int `json:"rejected"`
	NotIn    int `json:"injector_not_in_tables"`
	NoValue  int `json:"no_value_in_table"`
}

// ErrorShares parts the root-mean-square error of the points into where it comes
// from, in per cent of delivered fuel.
type ErrorShares struct {
	ReadingPct float64 `json:"reading_noise_pct"`
	TablePct   float64 `json:"table_pct"`
	ModelPct   float64 `json:"model_pct"`
	AllPct     float64 `json:"all_pct"`
}

type formKey struct {
	form   Form
	twoWay bool
}

// VerifyOptions of Verify.
type VerifyOptions struct {
	Within unit.Ratio             // limit of the 95th percentile; 0: none
	Only   func(reading int) bool // readings to use; nil: all
	// Model gives the model's own volume in ml for a reading's condition, to tell
	// the table's part of an error from the model's; nil: not told apart.
	Model func(injector string, pulse unit.Time, p unit.Pressure, v unit.Voltage) (ml float64, ok bool)
}

// Verify plays the ECU for every pulsed reading of an injector in the tables.
func Verify(e *ECU, c bench.Checked, o VerifyOptions) (Verification, error) {
	return joinVerifications([]Verification{collect(e, c, o)}, o)
}

// collect plays the ECU without summing up.
func collect(e *ECU, c bench.Checked, o VerifyOptions) Verification {
	v := Verification{all: map[formKey][]Miss{}, WithinPct: o.Within.Pct()}
	keys := e.keys()
	for i, r := range c.Readings() {
		if o.Only != nil && !o.Only(i) {
			continue
		}
		if !v.Apart.admits(e, c, i, r) {
			continue
		}
		read := r.PerShot().Ml()
		miss := Miss{Injector: r.Injector, PulseMs: r.Pulse.Ms(), PressureKPa: r.Pressure.KPa(), VoltageV: r.Voltage.V(), Line: r.Line}
		own, ok, err := e.Volume(r.Injector, FlowAndTime, false, r.Pulse.Ms(), miss.PressureKPa, miss.VoltageV)
		if err != nil || !ok {
			v.Apart.NoValue++
			continue
		}
		if !e.Inside(own, miss.PressureKPa, miss.VoltageV) {
			v.OutsideAxes++
			continue
		}
		miss.Effective = 60000 * own / e.flow.look(miss.PressureKPa)
		miss.noisePct = 100 * float64(c.Weight(i).U()) / float64(r.Volume)
		for _, k := range keys {
			m, ok, err := e.Volume(r.Injector, k.form, k.twoWay, r.Pulse.Ms(), miss.PressureKPa, miss.VoltageV)
			if err != nil || !ok {
				continue
			}
			miss.ErrorPct = 100 * (m/e.VolumeFactor - read) / read
			v.all[k] = append(v.all[k], miss)
		}
		if o.Model != nil {
			if ml, ok := o.Model(r.Injector, r.Pulse, r.Pressure, r.Voltage); ok && ml > 0 {
				v.modelMisses = append(v.modelMisses, 100*(own/e.VolumeFactor-ml)/ml)
			}
		}
	}
	v.keys = keys
	return v
}

// joinVerifications sums up what was collected, part by part.
func joinVerifications(parts []Verification, o VerifyOptions) (Verification, error) {
	v := parts[0]
	for _, p := range parts[1:] {
		for _, k := range v.keys {
			v.all[k] = append(v.all[k], p.all[k]...)
		}
		v.modelMisses = append(v.modelMisses, p.modelMisses...)
		v.OutsideAxes += p.OutsideAxes
		v.Apart.add(p.Apart)
	}
	main := v.all[formKey{FlowAndTime, false}]
	if len(main) == 0 {
		return v, fmt.Errorf("no reading of the bench file can be compared with the tables: %s", v.Apart.words(v.OutsideAxes))
	}
	v.sum(v.keys, main)
	if o.Model != nil {
		v.share(main, v.modelMisses)
	}
	return v, nil
}

func (a *Apart) add(b Apart) {
	a.Static, a.Leak, a.Zero = a.Static+b.Static, a.Leak+b.Leak, a.Zero+b.Zero
	a.Rejected, a.NotIn, a.NoValue = a.Rejected+b.Rejected, a.NotIn+b.NotIn, a.NoValue+b.NoValue
}

// ModelOf gives VerifyOptions.Model of a fitted model.
func ModelOf(m *fit.Model) func(string, unit.Time, unit.Pressure, unit.Voltage) (float64, bool) {
	return func(id string, pulse unit.Time, p unit.Pressure, v unit.Voltage) (float64, bool) {
		g, ok := m.Find(id)
		if !ok {
			return 0, false
		}
		ml := m.DeliveredOf(g, pulse, p, v)
		return ml, !math.IsNaN(ml)
	}
}

// keys are the ways of use that these tables allow.
func (e *ECU) keys() (out []formKey) {
	for _, f := range e.Forms() {
		out = append(out, formKey{f, false})
	}
	if e.TwoWay() {
		for _, f := range e.Forms() {
			out = append(out, formKey{f, true})
		}
	}
	return out
}

// admits counts a reading apart, or lets it through.
func (a *Apart) admits(e *ECU, c bench.Checked, i int, r bench.Reading) bool {
	switch {
	case !e.Has(r.Injector):
		a.NotIn++
	case r.Leak():
		a.Leak++
	case r.Static():
		a.Static++
	case r.Volume <= 0:
		a.Zero++
	case c.Wrong(i) != "":
		a.Rejected++
	default:
		return true
	}
	return false
}

func (a Apart) words(outside int) string {
	return fmt.Sprintf("%d held open, %d leak tests, %d delivered nothing, %d judged wrong, %d of injectors that the tables are not for, %d where the tables have no value, %d outside the axes",
		a.Static, a.Leak, a.Zero, a.Rejected, a.NotIn, a.NoValue, outside)
}

func (v *Verification) sum(keys []formKey, main []Miss) {
	for _, k := range keys {
		v.Forms = append(v.Forms, sumErrors(k.form.String(), k.twoWay, v.all[k]))
	}
	v.FormErrors = sumErrors(FlowAndTime.String(), false, main)
	v.Misses = slices.Clone(main)
	slices.SortStableFunc(v.Misses, func(a, b Miss) int {
		switch x, y := math.Abs(a.ErrorPct), math.Abs(b.ErrorPct); {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	v.Misses = v.Misses[:min(len(v.Misses), 10)]
	v.Worst = &v.Misses[0]
	for _, m := range main {
		if v.WithinPct > 0 && math.Abs(m.ErrorPct) > v.WithinPct {
			v.OutsideTolerance++
		}
	}
	v.Regions = regions(main)
}

func sumErrors(form string, twoWay bool, ms []Miss) FormErrors {
	out := FormErrors{Form: form, TwoWay: twoWay, Points: len(ms)}
	if len(ms) == 0 {
		return out
	}
	var abs []float64
	for _, m := range ms {
		abs = append(abs, math.Abs(m.ErrorPct))
		out.MeanAbs += math.Abs(m.ErrorPct) / float64(len(ms))
		out.MeanSign += m.ErrorPct / float64(len(ms))
	}
	slices.Sort(abs)
	out.P95 = percentile(abs, 0.95)
	out.Max = abs[len(abs)-1]
	return out
}

// Broken tells whether the 95th percentile breaks the limit that was asked for.
func (v Verification) Broken() bool { return v.WithinPct > 0 && v.P95 > v.WithinPct }

// pulseRegions are ranges of effective pulse in ms by which errors are shown.
var pulseRegions = []struct {
	to   float64
	name string
}{{0.9, "below 0.9 ms"}, {2, "0.9 to 2 ms"}, {6, "2 to 6 ms"}, {math.Inf(1), "6 ms and up"}}

func regions(ms []Miss) (out []RegionErrors) {
	at := map[RegionErrors]int{}
	for _, m := range ms {
		key := RegionErrors{PressureKPa: round(m.PressureKPa, 0), VoltageV: round(m.VoltageV, 1)}
		for _, r := range pulseRegions {
			if m.Effective < r.to {
				key.Pulse = r.name
				break
			}
		}
		i, ok := at[key]
		if !ok {
			i = len(out)
			at[key] = i
			out = append(out, key)
		}
		out[i].Points++
		out[i].MeanAbs += math.Abs(m.ErrorPct)
		out[i].Max = math.Max(out[i].Max, math.Abs(m.ErrorPct))
	}
	for i := range out {
		out[i].MeanAbs /= float64(out[i].Points)
	}
	slices.SortStableFunc(out, func(a, b RegionErrors) int {
		for _, d := range []float64{a.VoltageV - b.VoltageV, a.PressureKPa - b.PressureKPa, regionRank(a.Pulse) - regionRank(b.Pulse)} {
			if d < 0 {
				return -1
			}
			if d > 0 {
				return 1
			}
		}
		return 0
	})
	return out
}

func regionRank(name string) float64 {
	for i, r := range pulseRegions {
		if r.name == name {
			return float64(i)
		}
	}
	return -1
}

// share parts the error into the reading's noise, the table's own part (against
// the model that it was made from) and the rest, which is the model's.
func (v *Verification) share(main []Miss, tableMisses []float64) {
	s := ErrorShares{}
	for _, m := range main {
		s.AllPct += m.ErrorPct * m.ErrorPct / float64(len(main))
		s.ReadingPct += m.noisePct * m.noisePct / float64(len(main))
	}
	for _, t := range tableMisses {
		s.TablePct += t * t / float64(len(tableMisses))
	}
	s.ModelPct = math.Sqrt(math.Max(0, s.AllPct-s.ReadingPct-s.TablePct))
	s.AllPct, s.ReadingPct, s.TablePct = math.Sqrt(s.AllPct), math.Sqrt(s.ReadingPct), math.Sqrt(s.TablePct)
	v.Shares = &s
}

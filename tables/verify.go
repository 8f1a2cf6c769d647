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
	parts            []comparison
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
	return sumUp(compare(e, c, o), o)
}

// sumUp gives what comparisons with different tables say together.
func sumUp(parts []comparison, o VerifyOptions) (Verification, error) {
	v := Verification{WithinPct: o.Within.Pct(), parts: parts}
	for _, p := range parts {
		v.OutsideAxes += p.outside
		v.Apart.add(p.apart)
		v.Points += len(p.points)
	}
	if v.Points == 0 {
		return v, fmt.Errorf("no reading of the bench file can be compared with the tables: %s", v.Apart.words(v.OutsideAxes))
	}
	v.sum()
	if o.Model != nil {
		v.share()
	}
	return v, nil
}

// Sums are what the comparison comes to, without its readings, of which charts and tables are
// made.
func (v Verification) Sums() Verification {
	v.parts = nil
	return v
}

func (a *Apart) add(b Apart) {
	a.Static, a.Leak, a.Zero = a.Static+b.Static, a.Leak+b.Leak, a.Zero+b.Zero
	a.Rejected, a.NotIn, a.NoValue = a.Rejected+b.Rejected, a.NotIn+b.NotIn, a.NoValue+b.NoValue
}

// ModelOf gives VerifyOptions.Model of a fitted model.
func ModelOf(m *fit.Model) func(string, unit.Time, unit.Pressure, unit.Voltage) (float64, bool) {
	at := make(map[string]int, len(m.Members))
	for g, x := range m.Members {
		at[x.ID] = g
	}
	return func(id string, pulse unit.Time, p unit.Pressure, v unit.Voltage) (float64, bool) {
		g, ok := at[id]
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

func (a Apart) words(outside int) string {
	return fmt.Sprintf("%d held open, %d leak tests, %d delivered nothing, %d judged wrong, %d of injectors that the tables are not for, %d where the tables have no value, %d outside the axes",
		a.Static, a.Leak, a.Zero, a.Rejected, a.NotIn, a.NoValue, outside)
}

func (v *Verification) sum() {
	keys := v.parts[0].ecu.keys()
	v.Forms = v.sumForms(keys)
	v.FormErrors = v.Forms[slices.Index(keys, ownRule)]
	v.Misses = v.largest(10)
	v.Worst = &v.Misses[0]
	for _, x := range v.points() {
		if v.WithinPct > 0 && math.Abs(x.errorPct) > v.WithinPct {
			v.OutsideTolerance++
		}
	}
	v.Regions = v.regions()
}

// ownRule is the contract's own way of using the tables.
var ownRule = formKey{FlowAndTime, false}

// largest are the n readings that miss most; of like misses the earlier.
func (v *Verification) largest(n int) (out []Miss) {
	for p, x := range v.points() {
		size := math.Abs(x.errorPct)
		if len(out) == n && size <= math.Abs(out[n-1].ErrorPct) {
			continue
		}
		at := len(out)
		for at > 0 && math.Abs(out[at-1].ErrorPct) < size {
			at--
		}
		out = slices.Insert(out, at, p.miss(x))
		out = out[:min(len(out), n)]
	}
	return out
}

// Broken tells whether the 95th percentile breaks the limit that was asked for.
func (v Verification) Broken() bool { return v.WithinPct > 0 && v.P95 > v.WithinPct }

// pulseRegions are ranges of effective pulse in ms by which errors are shown.
var pulseRegions = []struct {
	to   float64
	name string
}{{0.9, "below 0.9 ms"}, {2, "0.9 to 2 ms"}, {6, "2 to 6 ms"}, {math.Inf(1), "6 ms and up"}}

// regionOf is the one of an effective pulse in ms.
func regionOf(effective float64) string {
	for _, r := range pulseRegions {
		if effective < r.to {
			return r.name
		}
	}
	return ""
}

func (v *Verification) regions() (out []RegionErrors) {
	at, i, last := map[RegionErrors]int{}, -1, RegionErrors{}
	for p, x := range v.points() {
		r := p.readings.Dose(int(x.reading))
		key := RegionErrors{Pulse: regionOf(x.effective), PressureKPa: round(r.Pressure.KPa(), 0), VoltageV: round(r.Voltage.V(), 1)}
		if i < 0 || key != last { // most of a run are in one
			var ok bool
			if i, ok = at[key]; !ok {
				i = len(out)
				at[key] = i
				out = append(out, key)
			}
			last = key
		}
		out[i].Points++
		out[i].MeanAbs += math.Abs(x.errorPct)
		out[i].Max = math.Max(out[i].Max, math.Abs(x.errorPct))
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
func (v *Verification) share() {
	s := ErrorShares{}
	n, tables := float64(v.Points), 0.0
	for _, p := range v.parts {
		tables += float64(len(p.modelMisses))
	}
	for _, p := range v.parts {
		for _, x := range p.points {
			s.AllPct += x.errorPct * x.errorPct / n
			noise := p.noisePct(x)
			s.ReadingPct += noise * noise / n
		}
		for _, t := range p.modelMisses {
			s.TablePct += t * t / tables
		}
	}
	s.ModelPct = math.Sqrt(math.Max(0, s.AllPct-s.ReadingPct-s.TablePct))
	s.AllPct, s.ReadingPct, s.TablePct = math.Sqrt(s.AllPct), math.Sqrt(s.ReadingPct), math.Sqrt(s.TablePct)
	v.Shares = &s
}

package plan

import (
	"math"

	"injtab/fit"
	"injtab/fit/bench"
	"injtab/fit/diag"
	"injtab/fit/unit"
)

// A Plan is a bench session to carry out. All uncertainties are standard ones:
// twice as much holds 95 % of the cases.
type Plan struct {
	Purpose   Purpose `json:"purpose"`
	Points    []Point `json:"points"` // in the order in which they are first run
	Runs      int     `json:"runs"`
	BenchTime float64 `json:"bench_time_min"`
	Fluid     float64 `json:"fluid_l"` // that passes the injectors; drained vessels give it back

	Order     []Run    `json:"order"`
	Seatings  int      `json:"seatings"`
	Reference string   `json:"reference_injector,omitempty"` // takes part in every seating
	Seating   []string `json:"seating_reasons"`
	Told      bool     `json:"slots_told_from_injectors"`

	TargetPct float64  `json:"target_uncertainty_pct"`
	Met       bool     `json:"target_met"`
	Yield     []Yield  `json:"yield"`        // what the tables need
	Even      Rival    `json:"even_plan"`    // an evenly spread plan of the same time
	Missed    float64  `json:"target_ratio"` // largest uncertainty over the target for it; met up to 1
	Worst     float64  `json:"worst_ratio"`  // the same where no gauge sets the limit, else over what gauges allow
	Warnings  []string `json:"warnings"`

	Notes []diag.Note `json:"-"`

	job    *job
	agenda agenda
	look   *fit.Prospect
}

// A Point is a condition to be run.
type Point struct {
	Pulse       float64 `json:"pulse_ms"` // the period where held open, 0 in a leak test
	Period      float64 `json:"period_ms"`
	Pressure    float64 `json:"pressure_kpa"`
	Voltage     float64 `json:"voltage_v"`
	Shots       int     `json:"shots"` // of a leak test: periods
	Duration    float64 `json:"duration_s"`
	Expected    float64 `json:"expected_ml"`              // of one reading
	Uncertainty float64 `json:"expected_uncertainty_pct"` // of delivered fuel by one reading, all its parts

	Kind       string  `json:"kind"`                   // pulsed, held_open, leak or opening
	Glass      float64 `json:"vessel_uncertainty_pct"` // the part of calibration and division
	Grams      float64 `json:"expected_g,omitempty"`
	Fitted     float64 `json:"fitted_uncertainty_pct"` // of delivered fuel after the whole session
	DeadTime   float64 `json:"expected_dead_time_ms"`
	DeadTimeUs float64 `json:"dead_time_uncertainty_us"` // after the whole session
	Everyone   bool    `json:"everyone"`                 // all injectors run it; else those of the first seating
	Times      int     `json:"times"`                    // runs in the session
}

// A Run is one run of the bench.
type Run struct {
	Run     int    `json:"run"`
	Seating int    `json:"seating"`
	Point   int    `json:"point"` // index of points
	Slots   []Slot `json:"slots"`
}

// A Slot is where an injector sits; its vessel has the slot's number.
type Slot struct {
	Slot     int    `json:"slot"`
	Injector string `json:"injector"`
}

// A Yield is the worst of one kind of quantity, and where.
type Yield struct {
	Quantity string  `json:"quantity"`
	At       string  `json:"at"`
	Unit     string  `json:"unit"`
	Aim      float64 `json:"aim"`
	Random   float64 `json:"random"` // by chance
	Gauges   float64 `json:"gauges"` // by gauge, voltmeter, timer and vessels
	Both     float64 `json:"uncertainty"`
	Even     float64 `json:"even_plan_uncertainty"`
}

// A Rival is the evenly spread plan.
type Rival struct {
	Points    int     `json:"points"`
	Runs      int     `json:"runs"`
	BenchTime float64 `json:"bench_time_min"`
	Worst     float64 `json:"worst_ratio"`
	Taken     bool    `json:"taken"` // it was the better one
}

// finish lays the chosen outcome out.
func (j *job) finish(chosen, even outcome, fallen bool, r rota, e extras) Plan {
	p := Plan{
		Purpose: j.Purpose, Runs: len(chosen.agenda.turns), BenchTime: tidy(chosen.agenda.time(j).Seconds() / 60),
		Seatings: chosen.agenda.seatings, Reference: r.reference, Seating: r.reasons, Told: separates(chosen.agenda.turns),
		TargetPct: tidy(j.Target.Pct()), Met: chosen.missed <= 1, Missed: tidy(finiteOr(chosen.missed)), Worst: tidy(finiteOr(chosen.worst)),
		Even: Rival{Points: countSpots(even.agenda), Runs: len(even.agenda.turns), BenchTime: tidy(even.agenda.time(j).Seconds() / 60), Worst: tidy(finiteOr(even.worst)), Taken: fallen},
		job:  j, agenda: chosen.agenda, look: chosen.look,
	}
	if !e.tie && len(r.tie) > 0 {
		p.Seating = r.reasons[:1]
	}
	j.lay(&p, chosen)
	p.Yield = j.yields(chosen, even)
	j.remark(p, chosen)
	p.Notes = j.notes
	p.Warnings = []string{}
	for _, n := range p.Notes {
		p.Warnings = append(p.Warnings, n.Message)
	}
	return p
}

// lay fills points, order and fluid.
func (j *job) lay(p *Plan, o outcome) {
	at := map[task]int{}
	var fluid unit.Volume
	for i, t := range o.agenda.turns {
		k, seen := at[t.task]
		if !seen {
			k = len(p.Points)
			at[t.task] = k
			p.Points = append(p.Points, j.point(t.task, o.look))
		}
		p.Points[k].Times++
		run := Run{Run: i + 1, Seating: t.seating + 1, Point: k}
		for slot, id := range t.seats {
			if id != "" {
				run.Slots = append(run.Slots, Slot{slot + 1, id})
				fluid += t.volume()
			}
		}
		p.Order = append(p.Order, run)
	}
	j.whoRuns(p, o.agenda)
	p.Fluid = tidy(1e-3 * fluid.Ml())
}

// whoRuns marks the points that every injector takes part in.
func (j *job) whoRuns(p *Plan, a agenda) {
	for k := range p.Points {
		seen := map[string]bool{}
		for i, r := range p.Order {
			if r.Point == k {
				for _, id := range a.turns[i].seats.ids() {
					seen[id] = true
				}
			}
		}
		p.Points[k].Everyone = len(seen) == j.Number
	}
}

func (j *job) point(t task, look *fit.Prospect) Point {
	p := Point{
		Kind: t.kind, Pulse: tidy(t.pulse.Ms()), Period: tidy(j.period.Ms()),
		Pressure: tidy(t.pressure.KPa()), Voltage: tidy(t.voltage.V()), Shots: int(t.shots),
		Duration: tidy(j.duration(t.spot).Seconds()), Expected: tidy(t.volume().Ml()),
	}
	if j.weighed {
		p.Grams = tidy(t.volume().Of(j.Fluid.Density).Grams())
	}
	if t.perShot <= 0 {
		return p
	}
	p.Uncertainty = tidy(100 * j.readingU(t.spot))
	p.Glass = tidy(100 * float64(j.vessel.U()/t.volume()))
	if t.kind == held {
		f := look.Flow(look.Model.Everyone()[:1], t.pressure)
		p.Fitted = tidy(100 * f.U() / f.Value)
		return p
	}
	who := look.Model.Everyone()[:1]
	d := look.DeadTime(who, t.pressure, t.voltage)
	q := look.DeliveredBy(who, t.pulse, t.pressure, t.voltage)
	if d.Status.HasValue() && q.Value > 0 {
		p.Fitted, p.DeadTime, p.DeadTimeUs = tidy(100*q.U()/q.Value), tidy(d.Value), tidy(1e3*d.U())
	}
	return p
}

// Readings are the rows of the bench file, in the order of the runs, without
// amounts.
func (p Plan) Readings() []bench.Reading {
	return p.agenda.readings(p.job)
}

// Setup is what the bench file says of the whole session.
func (p Plan) Setup() bench.Setup { return p.job.setup }

// Prospect is what the fit would make of the session.
func (p Plan) Prospect() *fit.Prospect { return p.look }

// tidy rounds to six digits, which is more than any gauge has.
func tidy(x float64) float64 {
	if math.Abs(x) < 1e-300 {
		return 0
	}
	scale := math.Pow(10, 5-math.Floor(math.Log10(math.Abs(x))))
	return math.Round(x*scale) / scale
}

// finiteOr is x, or a number that says "nothing is known" where there is none.
func finiteOr(x float64) float64 { return math.Min(x, nothingKnown) }

const nothingKnown = 1e6

func countSpots(a agenda) int {
	seen := map[task]bool{}
	for _, t := range a.turns {
		seen[t.task] = true
	}
	return len(seen)
}

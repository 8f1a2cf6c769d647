package match

import (
	"math"
	"strconv"

	"injtab/fit/bench"
	"injtab/fit/diag"
)

// Result is what was chosen, with what has been proven of it. Spreads are
// (largest ÷ smallest − 1) · 100 of the fuel that a set's injectors delivered per
// shot at a point. With weights, sets are chosen by the weighted differences,
// while all spreads are given as they are.
type Result struct {
	Objective    string        `json:"objective"`
	Proof        string        `json:"proof"`     // "optimal" or "bounded"
	BoundPct     float64       `json:"bound_pct"` // proven lower bound on the best possible worst spread
	GapPct       float64       `json:"gap_pct"`   // by how much smaller, in per cent of it, the worst spread could be at the most
	MostSets     int           `json:"most_sets"` // proven bound on the number of sets within the tolerance; else how many were asked for
	Sets         []Set         `json:"sets"`
	Replacements []Fit         `json:"replacements,omitempty"`
	LeftOut      []LeftOut     `json:"left_out"`
	Points       []Point       `json:"points"` // compared
	Unused       []UnusedPoint `json:"points_not_compared"`
	Warnings     []string      `json:"warnings"`

	pile  *pile
	notes []diag.Note
}

// Set is one matched set.
type Set struct {
	Name      string        `json:"name"`
	Injectors []string      `json:"injectors"`  // natural order
	SpreadPct float64       `json:"spread_pct"` // the worst over the points
	Interval  *Interval     `json:"spread_95_pct,omitempty"`
	ByPoint   []PointSpread `json:"by_point"`
	Limit     Limit         `json:"limited_by"`
	Proof     string        `json:"proof"`
	BoundPct  float64       `json:"bound_pct"`
	NextBest  *NextBest     `json:"next_best,omitempty"`
	Spares    []Fit         `json:"spares"`
	Seats     []Seat        `json:"seats"`
	Seating   *Seating      `json:"seating,omitempty"`

	units []int
}

// Interval holds the true value with 95 % probability, for the noise of the
// readings alone.
type Interval struct {
	Lo float64 `json:"lo"`
	Hi float64 `json:"hi"`
}

// Limit is where a set's spread is worst, and which injectors make it.
type Limit struct {
	Point
	Most  string `json:"most"`
	Least string `json:"least"`
}

// Point is a condition of comparison.
type Point struct {
	PulseMs     float64 `json:"pulse_ms"`
	PeriodMs    float64 `json:"period_ms"`
	PressureKPa float64 `json:"pressure_kpa"`
	VoltageV    float64 `json:"voltage_v"`
	Static      bool    `json:"static"`

	point bench.Point
}

// PointSpread is a set's spread at one point.
type PointSpread struct {
	Point
	SpreadPct float64 `json:"spread_pct"`
	Weight    float64 `json:"weight"`
}

// UnusedPoint is a point that was measured but not compared.
type UnusedPoint struct {
	Point
	Reason string `json:"reason"`
}

// NextBest is the best other set and whether the readings can tell that it is worse.
type NextBest struct {
	Injectors       []string `json:"injectors"`
	SpreadPct       float64  `json:"spread_pct"`
	Proof           string   `json:"proof"`
	Distinguishable bool     `json:"distinguishable"` // the chosen set is better with 97.5 % probability at least
	BetterPct       float64  `json:"better_probability_pct"`
}

// Fit is an injector beside a set: the worst spread of the set with it.
type Fit struct {
	Injector  string  `json:"injector"`
	SpreadPct float64 `json:"spread_pct"`
}

// Seat is a cylinder and what it gets.
type Seat struct {
	Cylinder int    `json:"cylinder"`
	Injector string `json:"injector"`
	Bank     int    `json:"bank"` // from 1
}

// Seating is what the seats are worth: the largest difference of two banks'
// means plus the largest difference of two cylinders that fire one after the
// other, each the worst at the shortest and the longest pulse, in per cent.
type Seating struct {
	UnevenPct     float64 `json:"uneven_pct"`
	AsNumberedPct float64 `json:"as_numbered_pct"` // injectors by name onto cylinders by number
	RandomPct     float64 `json:"random_pct"`      // mean of seating at random
	BoundPct      float64 `json:"bound_pct"`
	Proof         string  `json:"proof"`
}

// LeftOut is an injector in no set, with the reason.
type LeftOut struct {
	Injector string `json:"injector"`
	Reason   string `json:"reason"`
}

const (
	optimal = "optimal"
	bounded = "bounded"
)

func proofWord(proven bool) string {
	if proven {
		return optimal
	}
	return bounded
}

func newPoint(p bench.Point) Point {
	return Point{
		PulseMs: tidy(p.Pulse.Ms()), PeriodMs: tidy(p.Period.Ms()),
		PressureKPa: tidy(p.Pressure.KPa()), VoltageV: tidy(p.Voltage.V()),
		Static: p.Static, point: p,
	}
}

// tidy takes away what conversion adds beyond nine digits.
func tidy(x float64) float64 {
	y, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 9, 64), 64)
	if err != nil {
		return x
	}
	return y
}

// fromMillionths turns a span of logarithms into a spread in per cent.
func fromMillionths(span int32) float64 {
	return tidy(100 * math.Expm1(float64(span)/1e6))
}

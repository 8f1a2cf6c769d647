package sim

import (
	"math"
	"slices"

	"injtab/fit/unit"
)

// A Plan is a session to run: the bench, the injectors and what they are asked.
type Plan struct {
	Title    string
	Bench    Bench
	IDs      []string           // what is written on the injectors
	Troubles map[string]Trouble // those of IDs that are not sound
	Junk     int                // so many more of IDs get a trouble at random
	Steps    []Step
	Gross    unit.Ratio        // part of the readings that are written down wrong
	Wide     bool              // a column for each injector
	Timed    bool              // runs by the clock, to full ten seconds, not by the count
	Remarks  []string          // lines for people at the head of the file
	Notes    map[string]string // what was noted of an injector where it was first run
}

// A Step takes some injectors through some points. The reference, if there is one,
// takes the first slot of every run.
type Step struct {
	IDs       []string
	Reference string
	Points    []Point
}

// A Point is a condition as the bench shows it.
type Point struct {
	Pulse, Period unit.Time
	Pressure      unit.Pressure
	Voltage       unit.Voltage
	Duration      unit.Time // 0: as long as fills the vessels well
}

func (p Point) static() bool { return p.Pulse >= p.Period }
func (p Point) leak() bool   { return p.Pulse <= 0 }

// Grid gives every pulse (ms) at every pressure (kPa) and voltage (V), pulses first.
func Grid(voltages, pressures, pulses []float64, period unit.Time) []Point {
	var points []Point
	for _, v := range voltages {
		for _, p := range pressures {
			for _, t := range pulses {
				points = append(points, Point{Pulse: unit.Ms(t), Period: period, Pressure: unit.KPa(p), Voltage: unit.Volts(v)})
			}
		}
	}
	return points
}

// batches parts a step's injectors into runs.
func (s Step) batches(slots int) [][]string {
	if s.Reference == "" {
		return slices.Collect(slices.Chunk(s.IDs, slots))
	}
	others := slices.DeleteFunc(slices.Clone(s.IDs), func(id string) bool { return id == s.Reference })
	if len(others) == 0 {
		return [][]string{{s.Reference}}
	}
	var runs [][]string
	for chunk := range slices.Chunk(others, slots-1) {
		runs = append(runs, append([]string{s.Reference}, chunk...))
	}
	return runs
}

const (
	fill       = 0.8 // part of a vessel that a reading should fill
	longestRun = 300 // s
	roundShots = 100 // operators set round counts
	roundTime  = 10  // s, and round times
)

// shots is what an operator sets who expects the family's middle unit: a round
// count, or the number of shots in a round time.
func (p Plan) shots(middle *Truth, at Point) float64 {
	if at.Duration > 0 {
		return float64(at.Duration / at.Period)
	}
	unit := float64(roundShots)
	if p.Timed {
		unit = roundTime / float64(at.Period)
	}
	most := math.Floor(longestRun / float64(at.Period) / unit)
	n := most
	if q := middle.PerShot(at.Pulse, at.Period, at.Pressure, at.Voltage, 0); q > 0 {
		n = math.Floor(fill * float64(p.Bench.Capacity/q) / unit)
	}
	return unit * math.Min(math.Max(1, n), most)
}

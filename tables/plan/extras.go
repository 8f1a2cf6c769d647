package plan

import (
	"math"

	"injtab/fit/unit"
)

// extras are the runs beside the points that are chosen.
type extras struct {
	leak    spot // shots 0: none
	opening []spot
	again   bool // the first point once more at the end of every seating
	tie     bool
}

// Leak test: long enough that a leak of a thousandth of the static flow shows as
// one division, within these limits (common practice, no source).
const (
	leakShare    = 1e-3
	shortestLeak = 60.0  // s
	longestLeak  = 300.0 // s
)

// leakTest is a timed run under pressure without pulses, at the highest pressure.
func (j *job) leakTest() spot {
	top := j.pressures[len(j.pressures)-1]
	flow := leakShare * float64(j.expect.Flow)
	seconds := math.Min(math.Max(float64(j.vessel.Division)/flow, shortestLeak), longestLeak)
	seconds = math.Ceil(seconds/10) * 10
	return spot{pressure: top, voltage: j.refV, shots: math.Ceil(seconds/float64(j.period) - 1e-9)}
}

// smallestLeak is what the test can see: half a division in its time.
func (j *job) smallestLeak(s spot) unit.VolumeFlow {
	return unit.VolumeFlow(float64(j.vessel.Division) / 2 / float64(j.duration(s)))
}

// Opening test: long pulses at falling voltage under the pressure where injectors
// are compared, until nothing comes.
const (
	openingPulse = 8.0 // ms
	openingShots = 200
	openingStep  = 0.5 // V
	mostOpening  = 5
)

// openingTest is worth its time where dead times are mapped and the bench can go
// below the voltage at which injectors should still open; the lowest cells of a
// dead-time table hang on it.
func (j *job) openingTest() []spot {
	low := j.VoltageRange[0]
	opens := j.expect.OpensAt(j.RatedPressure, j.refP)
	if j.Purpose == Match || low <= 0 || low > opens || j.longest < unit.Ms(openingPulse) {
		return nil
	}
	var list []spot
	for v := unit.Voltage(math.Ceil(opens.V()/openingStep)*openingStep) + openingStep; v >= low && len(list) < mostOpening; v -= openingStep {
		list = append(list, spot{pulse: unit.Ms(openingPulse), pressure: j.refP, voltage: v, shots: openingShots})
	}
	return list
}

package plan

import (
	"math"

	"injtab/fit/bench"
	"injtab/fit/unit"
)

// A spot is a point that could be measured, with what one reading there would be.
type spot struct {
	pulse    unit.Time
	pressure unit.Pressure
	voltage  unit.Voltage
	open     float64 // ms, expected; the whole period where held open
	shots    float64
	perShot  unit.Volume
}

func (s spot) held(period unit.Time) bool { return s.pulse >= period }

// volume is what one reading is expected to bring.
func (s spot) volume() unit.Volume { return s.perShot * unit.Volume(s.shots) }

// at makes the spot with a pulse that keeps the injector open for so many ms; 0
// holds it open.
func (j *job) at(p unit.Pressure, v unit.Voltage, open float64) spot {
	pulse := j.period
	if open > 0 {
		dead := j.expect.DeadTimeAt(j.RatedPressure, p, v)
		pulse = min(roundPulse(dead+unit.Ms(open)), j.longest)
		open = (pulse - dead).Ms()
	} else {
		open = j.period.Ms()
	}
	s := spot{pulse: pulse, pressure: p, voltage: v, open: open,
		perShot: j.expect.PerShot(j.RatedPressure, pulse, j.period, p, v)}
	s.shots = j.shots(s)
	return s
}

const pulseStep = 0.05 // ms: pulses are set in round figures

// roundPulse rounds up, so that the shortest pulse stays long enough.
func roundPulse(t unit.Time) unit.Time {
	return unit.Ms(math.Ceil(t.Ms()/pulseStep-0.02) * pulseStep)
}

// shots is how many the reading needs: as many as its target takes, never above
// the fill that the vessel allows, nor longer than a run may be.
func (j *job) shots(s spot) float64 {
	most := math.Floor(math.Min(float64(j.fill/s.perShot), longestRun/float64(j.period)))
	if s.held(j.period) {
		most = math.Floor(math.Min(most, longestHold/float64(j.period)))
	}
	needed := math.Ceil(float64(Needed(j.readU(), j.allowed(s.open), math.Hypot(j.gauges(s), j.drift(s))) / s.perShot))
	if needed > most {
		needed = most
	}
	return roundShots(needed, most)
}

// roundShots rounds up to a figure that is set easily, or down where that would be
// too many.
func roundShots(n, most float64) float64 {
	step := 1.0
	for _, s := range []float64{10, 100} {
		if n >= 10*s {
			step = s
		}
	}
	if up := math.Ceil(n/step) * step; up <= most {
		return up
	}
	return math.Max(1, math.Floor(most/step)*step)
}

// allowed is the relative standard uncertainty that is aimed at for an open time:
// the target, and below shortRegion in proportion more, because errors of time
// weigh more the shorter the pulse.
func (j *job) allowed(open float64) float64 {
	return float64(j.Target) * math.Max(1, shortRegion/open)
}

const shortRegion = 1.5 // ms

// readU is the standard uncertainty of what one reading brings, apart from what
// grows with it: glass, drops that stay in the vessel, and the eye.
func (j *job) readU() unit.Volume {
	eye := float64(j.Scatter.Judgement) * float64(j.vessel.Division)
	if j.weighed {
		eye = 0
	}
	return unit.Volume(math.Hypot(float64(j.vessel.U()), math.Hypot(float64(j.Scatter.Residue), eye)))
}

// slopes are the relative changes of one shot for a relative change of pressure
// and voltage, and for a ms of pulse.
func (j *job) slopes(s spot) (pressure, voltage, timer float64) {
	const h = 1e-3
	q := func(t unit.Time, p unit.Pressure, v unit.Voltage) float64 {
		return float64(j.expect.PerShot(j.RatedPressure, t, j.period, p, v) / s.perShot)
	}
	t := s.pulse
	pressure = (q(t, s.pressure*(1+h), s.voltage) - q(t, s.pressure*(1-h), s.voltage)) / (2 * h)
	if s.held(j.period) {
		return pressure, 0, 0
	}
	voltage = (q(t, s.pressure, s.voltage*(1+h)) - q(t, s.pressure, s.voltage*(1-h))) / (2 * h)
	timer = (q(t+unit.Ms(h), s.pressure, s.voltage) - q(t-unit.Ms(h), s.pressure, s.voltage)) / (2 * h)
	return pressure, voltage, timer
}

// gauges is the relative standard uncertainty that gauge, voltmeter and timer
// leave: limits of error ÷ √3.
func (j *job) gauges(s spot) float64 {
	p, v, t := j.slopes(s)
	return math.Hypot(math.Hypot(p*float64(j.PressureLimit), v*float64(j.VoltageLimit)), t*j.TimerLimit.Ms()) / math.Sqrt(3)
}

// drift is the relative standard deviation from run to run.
func (j *job) drift(s spot) float64 {
	p, v, _ := j.slopes(s)
	c := j.Scatter
	return math.Hypot(math.Hypot(p*float64(c.Pressure), v*float64(c.Voltage/s.voltage)), float64(c.Technique))
}

// readingU is the relative standard uncertainty of one reading by all its parts.
func (j *job) readingU(s spot) float64 {
	vessel := float64(j.readU() / s.volume())
	count := math.Min(float64(j.period), handTimer) / (s.shots * float64(j.period)) / math.Sqrt(3)
	return math.Hypot(math.Hypot(vessel, count), math.Hypot(j.gauges(s), j.drift(s)))
}

// handTimer is how far starting and stopping may be off in s, at most by a shot
// (common practice, no source).
const handTimer = 0.05

// reading is the spot as the fit will see it.
func (j *job) reading(s spot) bench.Reading {
	return bench.Reading{Pulse: s.pulse, Period: j.period, Shots: s.shots, Pressure: s.pressure, Voltage: s.voltage, Division: j.vessel.Division}
}

func (j *job) duration(s spot) unit.Time { return unit.Time(s.shots) * j.period }

// opens are the open times in ms to choose pulses from, rising.
func (j *job) opens(p unit.Pressure, v unit.Voltage) []float64 {
	most := (j.longest - j.expect.DeadTimeAt(j.RatedPressure, p, v)).Ms()
	var list []float64
	for _, w := range []float64{0.6, 0.7, 0.8, 0.9, 1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12} {
		if w >= j.shortest-1e-9 && w <= most {
			list = append(list, w)
		}
	}
	return list
}

// spots are all candidates: every pulse at every pressure and voltage, and held
// open at every pressure where the coil bears it.
func (j *job) spots() []spot {
	var list []spot
	for _, p := range j.pressures {
		for _, v := range j.voltages {
			for _, w := range j.opens(p, v) {
				list = append(list, j.at(p, v, w))
			}
		}
		if j.mayHold() {
			list = append(list, j.at(p, j.refV, 0))
		}
	}
	return list
}

// mayHold tells whether the coil may be held open: one of low resistance burns on
// the full supply unless its driver limits the current.
func (j *job) mayHold() bool { return j.Resistance == 0 || j.Resistance >= lowResistance }

func readings(j *job, spots []spot) []bench.Reading {
	list := make([]bench.Reading, len(spots))
	for i, s := range spots {
		list[i] = j.reading(s)
	}
	return list
}

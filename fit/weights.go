package fit

import (
	"math"

	"injtab/fit/bench"
	"injtab/fit/internal/lsq"
)

// A Noise is what a reading's standard uncertainty is made of, beside the vessel
// and the count. Both parts are estimated from the session's own residuals.
type Noise struct {
	RelativePct float64 // technique, drift of pressure and supply: of the delivered volume
	ShortPct    float64 // what the form of the model misses, at ShortAt ms of open time
}

// The form's own error falls off with the open time over ShortFade ms; ShortAt is
// where ShortPct holds.
const (
	ShortAt   = 0.8 // ms
	ShortFade = 0.6 // ms
)

// Floors keep a lucky session from claiming more than any bench can hold.
const leastRelativePct = 0.05

// relative is the relative standard uncertainty at an open time of w ms.
func (n Noise) relative(w float64) float64 {
	short := n.ShortPct * math.Exp(-(w-ShortAt)/ShortFade)
	return math.Hypot(n.RelativePct, math.Min(short, 30)) / 100
}

// readingSD is the standard uncertainty in µl per shot of what vessel and count
// allow; the relative part comes from the residuals.
func readingSD(w bench.Weight, shots float64) float64 {
	return math.Hypot(w.Division.Ml(), w.Count.Ml()) * microlitres / shots
}

// A gauges holds the standard uncertainties that are common to all readings of a
// session and so do not average down: they enter a result once.
type gauges struct {
	pressure float64 // relative
	voltage  float64 // relative
	timer    float64 // ms
	volume   float64 // relative, of the vessel's calibration
}

// gaugesOf turns limits of error into standard uncertainties (÷ √3: JCGM
// 100:2008, 4.3.7, clause from memory). A vessel whose tolerance is not given is
// taken as class B, whose limit is one division (ASTM E1272-02(2012), Table 1:
// 100 ml: 1.0 ml, 250 ml: 2.0 ml), against a
// well-filled reading: a vessel's error grows with what is in it.
func gaugesOf(s bench.Setup, readings bench.Readings) gauges {
	return gauges{
		pressure: float64(s.PressureLimit) / math.Sqrt(3),
		voltage:  float64(s.VoltageLimit) / math.Sqrt(3),
		timer:    s.TimerLimit.Ms() / math.Sqrt(3),
		volume:   vesselCalibration(s, readings) / math.Sqrt(3),
	}
}

func vesselCalibration(s bench.Setup, readings bench.Readings) float64 {
	numbers := make([]float64, 0, readings.Len()) // first of limits, then of volumes: a million take eight megabytes
	for volume, division := range readings.Amounts() {
		if volume > 0 {
			numbers = append(numbers, max(division, s.Division).Ml())
		}
	}
	if len(numbers) == 0 {
		return 0
	}
	limit := s.VesselLimit.Ml()
	if limit == 0 {
		limit = lsq.Median(numbers)
	}
	numbers = numbers[:0]
	for volume := range readings.Amounts() {
		if volume > 0 {
			numbers = append(numbers, volume.Ml())
		}
	}
	if limit > 0 {
		return limit / lsq.Nth(numbers, (len(numbers)-1)*99/100)
	}
	return 0
}

package fit

import (
	"math"

	"injtab/fit/bench"
	"injtab/fit/unit"
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
const (
	leastRelativePct = 0.05
	judgement        = 0.15 // part of a division by which a reader errs between marks; common practice, no source
)

// relative is the relative standard uncertainty at an open time of w ms.
func (n Noise) relative(w float64) float64 {
	short := n.ShortPct * math.Exp(-(w-ShortAt)/ShortFade)
	return math.Hypot(n.RelativePct, math.Min(short, 30)) / 100
}

// vesselMl is the standard uncertainty in ml of one reading of a vessel, by its
// division: uniform over one division (division/√12; JCGM 100:2008, F.2.2.1, as
// quoted in a package's documentation) and the reader's judgement.
func vesselMl(r bench.Reading, s bench.Setup) float64 {
	d := r.Division
	if d == 0 {
		d = s.Division
	}
	if d == 0 {
		d = unit.Ml(1)
	}
	return d.Ml() * math.Hypot(1/math.Sqrt(12), judgement)
}

// readingSD is the standard uncertainty in µl per shot of what vessel and count
// allow: one shot may be missed or doubled where a duration was timed.
func readingSD(r bench.Reading, s bench.Setup) float64 {
	ml := vesselMl(r, s)
	if !r.Static() {
		ml = math.Hypot(ml, r.Volume.Ml()/r.Shots/math.Sqrt(3))
	}
	return ml * microlitres / r.Shots
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
// 100 ml: 1.0 ml, 250 ml: 2.0 ml), against the typical filling.
func gaugesOf(s bench.Setup, readings []bench.Reading) gauges {
	return gauges{
		pressure: float64(s.PressureLimit) / math.Sqrt(3),
		voltage:  float64(s.VoltageLimit) / math.Sqrt(3),
		timer:    s.TimerLimit.Ms() / math.Sqrt(3),
		volume:   vesselCalibration(s, readings) / math.Sqrt(3),
	}
}

func vesselCalibration(s bench.Setup, readings []bench.Reading) float64 {
	var volumes, limits []float64
	for _, r := range readings {
		if r.Volume <= 0 {
			continue
		}
		limit := s.VesselLimit.Ml()
		if limit == 0 {
			limit = max(r.Division, s.Division).Ml()
		}
		volumes = append(volumes, r.Volume.Ml())
		limits = append(limits, limit)
	}
	if len(volumes) == 0 {
		return 0
	}
	return median(limits) / median(volumes)
}

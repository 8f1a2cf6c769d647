package tables

import (
	"fmt"
	"math"
)

// A Weight says how much a miss counts at one place of an axis: an engine that idles
// at 1.5 ms effective for half its life may want that pulse to count more.
type Weight struct {
	Axis string  // "effective_ms", "voltage_v" or "pressure_kpa"
	At   float64 // in the axis' unit
	By   float64 // above 0
}

// Check refuses weights that can't be used.
func (w Weight) Check() error {
	if !(w.By > 0) || w.By > 1000 {
		return fmt.Errorf("--weight: %s can't count %s times: use a number above 0 and up to 1000", number(w.At), number(w.By))
	}
	return nil
}

// weighted lets the profile's weights count in the choice of an axis: between two
// places of the profile the weight changes evenly, outside the last is held.
func (b *builder) weighted(axis string, f sampled) sampled {
	var at, by []float64
	for _, w := range b.o.Profile {
		if w.Axis == axis {
			at, by = append(at, w.At), append(by, w.By)
		}
	}
	if len(at) == 0 {
		return f
	}
	return func(places []float64) ([][]float64, []float64) {
		rows, weights := f(places)
		out := make([]float64, len(places))
		for i, x := range places {
			out[i] = interpolate(at, by, x)
			if weights != nil {
				out[i] *= weights[i]
			}
		}
		return rows, out
	}
}

// Rounding is what writing times to the ECU's step costs in delivered fuel, in 95 of
// 100 cases: dead time, correction and added time are each off by up to half a step.
type Rounding struct {
	StepMs      float64 `json:"step_ms"`
	At1msPct    float64 `json:"at_1_ms_pct"`
	ShortestMs  float64 `json:"shortest_effective_ms"`
	ShortestPct float64 `json:"at_shortest_pct"`
}

func (b *builder) rounding() Rounding {
	// The sum of three errors that are each evenly spread over one step stays within
	// 0.969 steps in 95 of 100 cases: 2·(1.5 − x)³/6 = 0.05.
	const three = 0.969
	shortest, _ := b.shortRange()
	off := three * b.o.Step
	return Rounding{StepMs: b.o.Step, At1msPct: round(100*off, 4), ShortestMs: round(shortest, 3), ShortestPct: round(100*off/math.Max(shortest, 0.01), 4)}
}

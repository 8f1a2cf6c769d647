package tables

import (
	"cmp"
	"fmt"
	"math"
	"slices"
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
	switch {
	case !slices.Contains([]string{pulseAxis, voltageAxis, pressureAxis}, w.Axis):
		return fmt.Errorf("--weight: %q is no axis of the tables: use %s, %s or %s", w.Axis, pulseAxis, voltageAxis, pressureAxis)
	case !(w.At > 0) || math.IsInf(w.At, 0):
		return fmt.Errorf("--weight: %s is no place on an axis: use a pulse, voltage or pressure above zero", number(w.At))
	case !(w.By > 0) || w.By > 1000:
		return fmt.Errorf("--weight: %s can't count %s times: use a number above 0 and up to 1000", number(w.At), number(w.By))
	}
	return nil
}

// A profile is the weights of one axis, by rising place.
type profile struct{ at, by []float64 }

// profiles sorts the weights by axis and place; two for one place are refused.
func profiles(ws []Weight) (map[string]profile, error) {
	ws = slices.Clone(ws)
	slices.SortStableFunc(ws, func(a, b Weight) int {
		return cmp.Or(cmp.Compare(a.Axis, b.Axis), cmp.Compare(a.At, b.At))
	})
	out := map[string]profile{}
	for i, w := range ws {
		if err := w.Check(); err != nil {
			return nil, err
		}
		if i > 0 && w.Axis == ws[i-1].Axis && w.At <= ws[i-1].At {
			return nil, fmt.Errorf("--weight: %s of %s has two weights: give it one", number(w.At), w.Axis)
		}
		p := out[w.Axis]
		p.at, p.by = append(p.at, w.At), append(p.by, w.By)
		out[w.Axis] = p
	}
	return out, nil
}

// weightAt is how much a miss counts at a place of an axis: between two places of the
// profile the weight changes evenly, outside the last is held.
func (b *builder) weightAt(axis string, x float64) float64 {
	p, ok := b.profiles[axis]
	if !ok {
		return 1
	}
	return interpolate(p.at, p.by, x)
}

// weighted lets the profile's weights count in the choice of an axis.
func (b *builder) weighted(axis string, f sampled) sampled {
	if _, ok := b.profiles[axis]; !ok {
		return f
	}
	return func(places []float64) ([][]float64, []float64) {
		rows, weights := f(places)
		out := make([]float64, len(places))
		for i, x := range places {
			out[i] = b.weightAt(axis, x)
			if weights != nil {
				out[i] *= weights[i]
			}
		}
		return rows, out
	}
}

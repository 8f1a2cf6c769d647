package match

import (
	"fmt"
	"math"
	"strings"

	"injtab/fit/bench"
	"injtab/fit/unit"
)

// Where names points: those that agree in everything given. A zero field is any.
type Where struct {
	Pulse    unit.Time
	Pressure unit.Pressure
	Voltage  unit.Voltage
	Open     bool // held open
}

// Weight is how much the points named count. A difference at a point of weight 2
// counts twice as much as one at a point of weight 1.
type Weight struct {
	Where
	Weight float64
}

// ParsePoints reads a list such as "2ms, 10ms 300kPa, open".
func ParsePoints(text string) ([]Where, error) {
	var list []Where
	for item := range strings.SplitSeq(text, ",") {
		w, err := parseWhere(item)
		if err != nil {
			return nil, err
		}
		list = append(list, w)
	}
	return list, nil
}

// ParseWeights reads a list such as "2ms=2, 10ms=1, open=0".
func ParseWeights(text string) ([]Weight, error) {
	var list []Weight
	for item := range strings.SplitSeq(text, ",") {
		point, number, ok := strings.Cut(item, "=")
		if !ok {
			return nil, fmt.Errorf("%q is not a weight: write a point and its weight, for example 2ms=2", strings.TrimSpace(item))
		}
		where, err := parseWhere(point)
		if err != nil {
			return nil, err
		}
		weight, err := unit.Number(strings.TrimSpace(number))
		if err != nil || weight < 0 {
			return nil, fmt.Errorf("%q is not a weight: expected a number that is not negative, for example 2ms=2", strings.TrimSpace(item))
		}
		list = append(list, Weight{where, weight})
	}
	return list, nil
}

// parseWhere reads one point, such as "2ms 300kPa 13.5V" or "open".
func parseWhere(text string) (w Where, err error) {
	words := strings.Fields(text)
	if len(words) == 0 {
		return w, fmt.Errorf("a point is missing: write its pulse, for example 2ms, or open for held open")
	}
	for _, word := range words {
		if err := w.take(word); err != nil {
			return Where{}, err
		}
	}
	return w, nil
}

func (w *Where) take(word string) error {
	if strings.EqualFold(word, "open") {
		w.Open = true
		return nil
	}
	if q, err := unit.Times.Parse(word); err == nil {
		return give(&w.Pulse, q, word, "pulse")
	}
	if q, err := unit.Pressures.Parse(word); err == nil {
		return give(&w.Pressure, q, word, "pressure")
	}
	if q, err := unit.Voltages.Parse(word); err == nil {
		return give(&w.Voltage, q, word, "voltage")
	}
	return fmt.Errorf("%q does not name a point: write a pulse, a pressure or a voltage with its unit, for example 2ms 300kPa 13.5V, or open for held open", word)
}

// give sets a quantity of a point that was not given before.
func give[Q ~float64](to *Q, q Q, word, name string) error {
	switch {
	case !(q > 0):
		return fmt.Errorf("%q does not name a point: its %s must be above zero", word, name)
	case *to > 0:
		return fmt.Errorf("%q is a second %s of one point: write commas between the points", word, name)
	}
	*to = q
	return nil
}

// at tells whether the point is one of those named, as near as readings of one
// point are: pulse equal, pressure within 1 %, voltage within 0.1 V.
func (w Where) at(p bench.Point) bool {
	return (w.Pulse == 0 || !p.Static && math.Abs(float64(w.Pulse-p.Pulse)) < 1e-9) &&
		(w.Pressure == 0 || math.Abs(float64(w.Pressure/p.Pressure)-1) < 0.01+1e-9) &&
		(w.Voltage == 0 || math.Abs(float64(w.Voltage-p.Voltage)) < 0.1+1e-9) &&
		(!w.Open || p.Static)
}

func (w Where) String() string {
	var words []string
	if w.Open {
		words = append(words, "open")
	}
	if w.Pulse != 0 {
		words = append(words, fmt.Sprintf("%.6gms", w.Pulse.Ms()))
	}
	if w.Pressure != 0 {
		words = append(words, fmt.Sprintf("%.6gkPa", w.Pressure.KPa()))
	}
	if w.Voltage != 0 {
		words = append(words, fmt.Sprintf("%.6gV", w.Voltage.V()))
	}
	return strings.Join(words, " ")
}

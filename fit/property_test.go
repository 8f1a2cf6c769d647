package fit_test

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"injtab/fit"
	"injtab/fit/sim"
	"injtab/fit/unit"
)

// A file is a bench file taken apart, to write it down in another way.
type file struct {
	head []string
	cols []string
	rows [][]string
}

func takeApart(csv []byte) (f file) {
	for _, line := range strings.Split(strings.TrimSpace(string(csv)), "\n") {
		switch {
		case strings.HasPrefix(line, "#"):
			f.head = append(f.head, line)
		case f.cols == nil:
			f.cols = strings.Split(line, ",")
		default:
			f.rows = append(f.rows, strings.Split(line, ","))
		}
	}
	return f
}

func (f file) csv() []byte {
	var b bytes.Buffer
	for _, h := range f.head {
		fmt.Fprintln(&b, h)
	}
	fmt.Fprintln(&b, strings.Join(f.cols, ","))
	for _, r := range f.rows {
		fmt.Fprintln(&b, strings.Join(r, ","))
	}
	return b.Bytes()
}

// rewrite changes a column's name and values, if it is there.
func (f file) rewrite(from, to string, change func(x float64) float64) {
	for c, name := range f.cols {
		if name != from {
			continue
		}
		f.cols[c] = to
		for _, r := range f.rows {
			x, _ := strconv.ParseFloat(r[c], 64)
			r[c] = strconv.FormatFloat(change(x), 'g', 15, 64)
		}
	}
}

// agree compares flows, dead times and their intervals of two models.
func agree(t *testing.T, what string, a, b *fit.Model, rename func(string) string, byFlow, tolerance float64) {
	t.Helper()
	for g, x := range a.Members {
		h, ok := b.Find(rename(x.ID))
		if !ok {
			t.Fatalf("%s: injector %s is gone", what, x.ID)
		}
		y := b.Members[h]
		for _, pair := range [][2]float64{
			{x.Flow.Value * byFlow, y.Flow.Value}, {x.DeadTime.Value, y.DeadTime.Value},
			{x.DeadTime.CI95(), y.DeadTime.CI95()}, {x.Flow.CI95() * byFlow, y.Flow.CI95()},
			{a.DeadTime(fit.Who{g}, unit.KPa(250), unit.Volts(12)).Value, b.DeadTime(fit.Who{h}, unit.KPa(250), unit.Volts(12)).Value},
		} {
			if math.Abs(pair[0]-pair[1]) > tolerance*math.Abs(pair[0]) {
				t.Errorf("%s, injector %s: %.8g against %.8g", what, x.ID, pair[0], pair[1])
			}
		}
	}
}

func same(id string) string { return id }

// TestTheSameBench written down otherwise gives the same model: other units, other
// row order, other names.
func TestTheSameBench(t *testing.T) {
	s := sim.Mapped(sim.ByName("B"), 31)
	m := fitted(t, checkedSession(t, s))

	units := takeApart(s.CSV)
	units.rewrite("pulse_ms", "pulse_us", func(x float64) float64 { return 1000 * x })
	units.rewrite("period_ms", "period_us", func(x float64) float64 { return 1000 * x })
	units.rewrite("volume_ml", "volume_cc", func(x float64) float64 { return x })
	units.rewrite("pressure_kpa", "pressure_bar", func(x float64) float64 { return x / 100 })
	agree(t, "other units", m, fitted(t, checkedCSV(t, units.csv())), same, 1, 1e-6)

	order := takeApart(s.CSV)
	rand.New(rand.NewPCG(1, 2)).Shuffle(len(order.rows), func(i, j int) { order.rows[i], order.rows[j] = order.rows[j], order.rows[i] })
	agree(t, "other order", m, fitted(t, checkedCSV(t, order.csv())), same, 1, 1e-9)

	names := takeApart(s.CSV)
	for c, name := range names.cols {
		if name == "injector" {
			for _, r := range names.rows {
				r[c] = "new " + r[c]
			}
		}
	}
	agree(t, "other names", m, fitted(t, checkedCSV(t, names.csv())), func(id string) string { return "new " + id }, 1, 1e-9)
}

// TestScaling: all volumes and divisions twice as large make flow twice as large
// and leave dead time alone.
func TestScaling(t *testing.T) {
	s := sim.Mapped(sim.ByName("C"), 32)
	m := fitted(t, checkedSession(t, s))
	f := takeApart(s.CSV)
	f.rewrite("volume_ml", "volume_ml", func(x float64) float64 { return 2 * x })
	for i, h := range f.head {
		for _, key := range []string{"division_ml", "vessel_tolerance_ml"} {
			if name, value, ok := strings.Cut(strings.TrimPrefix(h, "# "), " = "); ok && name == key {
				x, _ := strconv.ParseFloat(value, 64)
				f.head[i] = fmt.Sprintf("# %s = %g", key, 2*x)
			}
		}
	}
	agree(t, "scaled", m, fitted(t, checkedCSV(t, f.csv())), same, 2, 1e-5)
}

// TestMoreDataIsNotLessCertain on average: half the readings of a session have wider
// intervals of what the readings tell (differences between injectors, free of what
// gauges have in common).
func TestMoreDataIsNotLessCertain(t *testing.T) {
	var all, half float64
	for seed := range uint64(4) {
		s := sim.Mapped(sim.ByName("A"), 41+seed)
		f := takeApart(s.CSV)
		m := fitted(t, checkedCSV(t, f.csv()))
		few := f
		few.rows = nil
		for i, r := range f.rows {
			if i/4%2 == 0 {
				few.rows = append(few.rows, r)
			}
		}
		n := fitted(t, checkedCSV(t, few.csv()))
		all += m.FlowDifferences(m.Everyone())(0).CI95()
		half += n.FlowDifferences(n.Everyone())(0).CI95()
	}
	if half <= all {
		t.Errorf("intervals with all readings sum to %.4f, with half of them to %.4f", all, half)
	}
}

// scaled multiplies a cell that holds a number.
func scaled(t *testing.T, cell string, by float64) string {
	t.Helper()
	x, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		return cell
	}
	return strconv.FormatFloat(x*by, 'f', 1, 64)
}

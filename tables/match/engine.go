package match

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"

	"injtab/fit/diag"
	"injtab/tables/match/internal/seat"
)

// An engine is the cylinders with what is known of them.
type engine struct {
	cylinders []int // by seat
	banks     []int // by seat, from 0
	order     []int // seats as they fire
	need      []int32
}

// cylinders are the numbers given, or else those that banks or firing order name.
func cylinders(o Options) []int {
	if len(o.Cylinders) > 0 {
		return o.Cylinders
	}
	if len(o.Banks) > 0 {
		return slices.Sorted(slices.Values(slices.Concat(o.Banks...)))
	}
	return slices.Sorted(slices.Values(o.FiringOrder))
}

// newEngine checks what was said of the engine; nil if nothing was.
func newEngine(r request) (*engine, error) {
	list := cylinders(r.Options)
	if len(list) == 0 {
		if len(r.CylinderBias) > 0 {
			return nil, fmt.Errorf("--cylinder-bias needs --banks or --firing-order as well")
		}
		return nil, nil
	}
	e := &engine{cylinders: list}
	if err := once("--cylinders", list); err != nil {
		return nil, err
	}
	if len(list) != r.Of {
		return nil, fmt.Errorf("there are %d cylinders (%s), but a set has %d injectors: --of and --cylinders must agree", len(list), numbers(list), r.Of)
	}
	if err := e.setBanks(r.Banks); err != nil {
		return nil, err
	}
	if err := e.setOrder(r.FiringOrder); err != nil {
		return nil, err
	}
	return e, e.setNeed(r.Options)
}

func once(flag string, list []int) error {
	seen := map[int]bool{}
	for _, c := range list {
		if seen[c] {
			return fmt.Errorf("%s names cylinder %d twice", flag, c)
		}
		seen[c] = true
	}
	return nil
}

// covers checks that list names every cylinder once and no other.
func (e *engine) covers(flag string, list []int) error {
	if err := once(flag, list); err != nil {
		return err
	}
	for _, c := range list {
		if !slices.Contains(e.cylinders, c) {
			return fmt.Errorf("%s names cylinder %d, but the cylinders are %s", flag, c, numbers(e.cylinders))
		}
	}
	for _, c := range e.cylinders {
		if !slices.Contains(list, c) {
			return fmt.Errorf("%s leaves out cylinder %d: name every cylinder once", flag, c)
		}
	}
	return nil
}

func numbers(list []int) string {
	words := make([]string, len(list))
	for i, c := range list {
		words[i] = strconv.Itoa(c)
	}
	return listed(words)
}

func (e *engine) seatOf(cylinder int) int { return slices.Index(e.cylinders, cylinder) }

func (e *engine) setBanks(banks [][]int) error {
	e.banks = make([]int, len(e.cylinders))
	if len(banks) == 0 {
		return nil
	}
	if err := e.covers("--banks", slices.Concat(banks...)); err != nil {
		return err
	}
	for b, bank := range banks {
		if len(bank) == 0 {
			return fmt.Errorf("--banks: bank %d has no cylinder", b+1)
		}
		for _, c := range bank {
			e.banks[e.seatOf(c)] = b
		}
	}
	return nil
}

func (e *engine) setOrder(order []int) error {
	if len(order) == 0 {
		return nil
	}
	if err := e.covers("--firing-order", order); err != nil {
		return err
	}
	for _, c := range order {
		e.order = append(e.order, e.seatOf(c))
	}
	return nil
}

func (e *engine) setNeed(o Options) error {
	if len(o.CylinderBias) == 0 {
		return nil
	}
	if len(o.Banks) < 2 && len(o.FiringOrder) == 0 {
		return fmt.Errorf("--cylinder-bias needs --banks or --firing-order as well")
	}
	e.need = make([]int32, len(e.cylinders))
	for _, c := range slices.Sorted(maps.Keys(o.CylinderBias)) {
		bias := float64(o.CylinderBias[c])
		if e.seatOf(c) < 0 {
			return fmt.Errorf("--cylinder-bias names cylinder %d, but the cylinders are %s", c, numbers(e.cylinders))
		}
		if !(bias > -0.5 && bias < 1) {
			return fmt.Errorf("--cylinder-bias %d=%.4g%%: expected how much more fuel than the mean cylinder %d needs, between -50%% and 100%%", c, 100*bias, c)
		}
		e.need[e.seatOf(c)] = int32(math.Round(1e6 * math.Log1p(bias)))
	}
	return nil
}

// seatWork bounds the search for seats, of each set; about a nanosecond a unit.
const seatWork = 4_000_000_000

// addSeats seats every set.
func (p *pile) addSeats(ctx context.Context, r *Result, e *engine) {
	if e == nil {
		return
	}
	if slices.Max(e.banks) == 0 && e.order == nil {
		r.notes = append(r.notes, diag.Warn("seats-by-number", "the injectors are seated by name: to seat them well, say which cylinders make a bank (--banks) or how they fire (--firing-order)"))
	}
	layout := seat.Engine{Banks: e.banks, Order: e.order, Need: e.need}
	for k := range r.Sets {
		s := &r.Sets[k]
		x := p.seatValues(s.units)
		found := seat.Best(ctx, layout, x, seatWork)
		for at, u := range found.Unit {
			s.Seats = append(s.Seats, Seat{e.cylinders[at], s.Injectors[u], e.banks[at] + 1})
		}
		slices.SortFunc(s.Seats, func(a, b Seat) int { return cmp.Compare(a.Cylinder, b.Cylinder) })
		s.Seating = p.seating(layout, x, found, e)
	}
}

func (p *pile) seating(layout seat.Engine, x [][]int32, found seat.Seating, e *engine) *Seating {
	pct := func(cost float64) float64 { return tidy(cost / float64(layout.Scale()) / 1e4) }
	byNumber := make([]int, len(e.cylinders)) // unit of each seat, lowest cylinder first
	for unit, cylinder := range slices.Sorted(slices.Values(e.cylinders)) {
		byNumber[e.seatOf(cylinder)] = unit
	}
	return &Seating{
		UnevenPct:     pct(float64(found.Cost)),
		AsNumberedPct: pct(float64(layout.Cost(x, byNumber))),
		RandomPct:     pct(layout.Random(x)),
		BoundPct:      pct(float64(found.Lower)),
		Proof:         proofWord(found.Proven()),
	}
}

// seatValues are what the units deliver at the shortest and at the longest pulse,
// each the mean over the points with that pulse.
func (p *pile) seatValues(units []int) [][]int32 {
	low, high := p.endPulses()
	x := [][]int32{p.means(units, low)}
	if !slices.Equal(low, high) {
		x = append(x, p.means(units, high))
	}
	return x
}

// endPulses are the columns with the shortest and with the longest pulse; held
// open counts only when nothing else was compared.
func (p *pile) endPulses() (low, high []int) {
	columns := p.columns(func(j int) bool { return !p.c.Points()[p.points[j]].Static })
	if len(columns) == 0 {
		columns = p.columns(func(int) bool { return true })
		return columns, columns
	}
	pulse := func(j int) float64 { return float64(p.c.Points()[p.points[j]].Pulse) }
	byPulse := func(a, b int) int { return cmp.Compare(pulse(a), pulse(b)) }
	shortest, longest := pulse(slices.MinFunc(columns, byPulse)), pulse(slices.MaxFunc(columns, byPulse))
	for _, j := range columns {
		if pulse(j) < shortest+1e-9 {
			low = append(low, j)
		}
		if pulse(j) > longest-1e-9 {
			high = append(high, j)
		}
	}
	return low, high
}

func (p *pile) columns(take func(int) bool) (list []int) {
	for j := range p.points {
		if take(j) {
			list = append(list, j)
		}
	}
	return list
}

func (p *pile) means(units, columns []int) []int32 {
	x := make([]int32, len(units))
	for k, u := range units {
		sum := 0.0
		for _, j := range columns {
			sum += p.log[u][j]
		}
		x[k] = int32(math.Round(1e6 * sum / float64(len(columns))))
	}
	return x
}

// seated tells whether the engine is known well enough to seat the injectors.
func (p *pile) seated() bool { return len(p.Banks) > 1 || len(p.FiringOrder) > 0 }

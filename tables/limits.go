package tables

import (
	"injtab/fit"
	"injtab/fit/diag"
)

// limits is what an ECU must not ask of each injector.
func (b *builder) limits() Table {
	t := Table{
		Name: "limits", Title: "Limits", Corner: "injector",
		About: "Where each injector's delivery stops being dependable. Empty where the session could not tell.",
		Row:   Column{Name: "injector", Title: "Injector", Text: true, About: "What is written on it."},
		Cols: []Column{
			{Name: "linear_from_ms", Title: "Linear from", Unit: "ms", UCUM: "ms", Decimals: 3, About: "Shortest pulse that delivers within 5 % of the straight line, at the reference condition."},
			{Name: "smallest_fuel_ml", Title: "Smallest fuel", Unit: "ml", UCUM: "mL", Decimals: 5, About: "Volume of that pulse: never ask for less."},
			{Name: "closing_time_ms", Title: "Closing time", Unit: "ms", UCUM: "ms", Decimals: 3, About: "Shortest time off between two pulses at which it was seen to close: it needs this or less."},
			{Name: "lowest_opening_v", Title: "Lowest opening voltage", Unit: "V", UCUM: "V", Decimals: 2, About: "At this voltage a long pulse delivered nothing."},
			{Name: "leak_ml_min", Title: "Leak", Unit: "ml/min", UCUM: "mL/min", Decimals: 3, About: "Delivered under pressure without pulses."},
		},
	}
	leaks := b.leaks()
	for _, g := range b.seated() {
		x := b.m.Members[g]
		t.RowText = append(t.RowText, x.ID)
		fuel := b.m.SmallestFuel(g)
		smallest := cell(fuel, fuel.Value, b.factor)
		smallest.Value = round(smallest.Value, 5)
		closed, _ := b.m.Closing(g)
		opens, seen := b.m.LowestOpening(g)
		leak, tested := leaks[x.ID]
		t.Cells = append(t.Cells, []Cell{
			known(x.LinearFrom, x.DeadTime.CI95(), 3, x.LinearFrom > 0), smallest,
			known(closed, 0, 3, closed > 0), known(opens, 0, 2, seen), known(leak, 0, 3, tested),
		})
	}
	return t
}

// leaks are the leaks in ml/min of the injectors that were tested for one.
func (b *builder) leaks() map[string]float64 {
	out := map[string]float64{}
	for _, x := range b.m.Checked.Injectors() {
		if x.LeakTest {
			out[x.ID] = x.Leak.MlMin()
		}
	}
	return out
}

func known(x, ci float64, digits int, ok bool) Cell {
	if !ok {
		return Cell{Status: diag.NotMeasured}
	}
	return Cell{Value: round(x, digits), CI95: ci, Basis: diag.Measured}
}

// SetOf turns ids into the members a set of tables is for.
func SetOf(m *fit.Model, ids []string) (fit.Who, bool) {
	var who fit.Who
	for _, id := range ids {
		g, ok := m.Find(id)
		if !ok {
			return nil, false
		}
		who = append(who, g)
	}
	return who, true
}

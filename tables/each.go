package tables

import (
	"fmt"

	"injtab/fit"
)

// each lays out a whole set of tables for every injector by itself: for an ECU that
// holds a flow and a dead-time table per cylinder there is nothing left to trim.
func (b *builder) each(set Set) []Table {
	var out []Table
	for i, g := range b.seated() {
		own := *b
		own.who, own.gains = fit.Who{g}, nil
		own.o.Pressure.Values = b.axisOf(set, "flow")
		flow := own.flow()
		own.o.Voltage.Values = b.axisOf(set, "dead_time")
		own.o.Pressure.Values = columnsOf(set, "dead_time")
		dead := own.deadTime()
		for _, t := range []*Table{&flow, &dead} {
			t.Name = fmt.Sprintf("own_%s_%d", t.Name, i+1)
			t.Title = fmt.Sprintf("%s of injector %s alone", t.Title, b.m.Members[g].ID)
			t.About = fmt.Sprintf("For injector %s by itself: used without trims, in place of the mean injector's table.", b.m.Members[g].ID)
		}
		out = append(out, flow, dead)
	}
	return out
}

func (b *builder) axisOf(set Set, table string) []float64 {
	t, _ := set.Find(table)
	return t.RowAt
}

func columnsOf(set Set, table string) (at []float64) {
	t, _ := set.Find(table)
	for _, c := range t.Cols {
		at = append(at, c.At)
	}
	return at
}

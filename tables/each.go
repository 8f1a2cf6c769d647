package tables

import (
	"fmt"

	"injtab/fit"
)

// ownName is the name of the table of one injector by itself, the i-th of the trims.
func ownName(table string, i int) string { return fmt.Sprintf("own_%s_%d", table, i+1) }

// each lays out flow and dead time for every injector by itself, over the breakpoints
// of the mean injector's: for an ECU that holds a flow and a dead-time table per
// cylinder there is nothing left to trim. The short-pulse tables stay common.
func (b *builder) each(flow, dead Table) []Table {
	var out []Table
	for i, g := range b.seated() {
		own := *b
		own.who, own.means, own.gains, own.notes = fit.Who{g}, &means{}, nil, nil
		own.o.Pressure.Values = flow.RowAt
		ownFlow := own.flow()
		own.o.Voltage.Values, own.o.Pressure.Values = dead.RowAt, columnsAt(dead)
		ownDead := own.deadTime()
		for _, t := range []*Table{&ownFlow, &ownDead} {
			t.Name = ownName(t.Name, i)
			t.Title = fmt.Sprintf("%s of injector %s alone", t.Title, b.m.Members[g].ID)
			t.About = fmt.Sprintf("For injector %s by itself: used without trims, in place of the mean injector's table.", b.m.Members[g].ID)
		}
		out = append(out, ownFlow, ownDead)
	}
	return out
}

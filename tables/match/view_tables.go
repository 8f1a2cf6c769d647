package match

import (
	"fmt"
	"math"
	"strings"

	"injtab/fit/diag"
	"injtab/tables"
)

func percent(name, title, about string) tables.Column {
	return tables.Column{Name: name, Title: title, Unit: "%", UCUM: "%", Decimals: 2, About: about}
}

func text(name, title, about string) tables.Column {
	return tables.Column{Name: name, Title: title, Text: true, About: about}
}

func number(x float64) tables.Cell { return tables.Cell{Value: x, Basis: diag.Measured} }

var injectorColumn = text("injector", "Injector", "What is written on it.")

// setsTable has a row for each set.
func (r Result) setsTable() tables.Table {
	t := tables.Table{
		Name: "match_sets", Title: "Matched sets", Corner: "set",
		About: "The chosen sets. The spread is largest ÷ smallest − 1 of the delivered fuel, at the point where it is worst.",
		Row:   text("set", "Set", "Name of the set."),
		Cols: []tables.Column{
			text("injectors", "Injectors", "The members of the set."),
			percent("spread_pct", "Spread as read", "Worst spread over the points."),
			percent("spread_low_pct", "True spread from", "Lower end of the 95 % interval of the true spread, for the noise of the readings."),
			percent("spread_high_pct", "True spread to", "Upper end of that interval."),
			text("worst_at", "Worst at", "Point at which the set spreads most."),
			percent("bound_pct", "Bound", "Proven: no choice has a worst set that spreads less."),
			text("proof", "Proof", "optimal: no better choice exists; bounded: a better one may exist, down to the bound."),
		},
	}
	for _, s := range r.Sets {
		lo, hi := tables.Cell{Status: diag.NotMeasured}, tables.Cell{Status: diag.NotMeasured}
		if s.Interval != nil {
			lo, hi = number(s.Interval.Lo), number(s.Interval.Hi)
		}
		t.RowText = append(t.RowText, s.Name)
		t.Cells = append(t.Cells, []tables.Cell{
			{Text: strings.Join(s.Injectors, ", ")}, number(s.SpreadPct), lo, hi,
			{Text: tables.PointName(s.Limit.point)}, number(s.BoundPct), {Text: s.Proof},
		})
	}
	return t
}

// pointsTable has a row for each point compared, the sets across, beside all the
// injectors that were chosen from.
func (r Result) pointsTable() tables.Table {
	t := tables.Table{
		Name: "match_points", Title: "Spread by point", Corner: "point",
		About: "Largest ÷ smallest − 1 of the delivered fuel at each point: of each set, and of all injectors that were chosen from.",
		Row:   text("point", "Point", "Pulse, pressure, voltage."),
	}
	for _, s := range r.Sets {
		t.Cols = append(t.Cols, percent(strings.ReplaceAll(s.Name, " ", "_")+"_pct", capital(s.Name), "Spread of the set."))
	}
	t.Cols = append(t.Cols, percent("all_pct", "All to choose from", "Spread of all injectors to choose from."))
	if r.pile.weighted() {
		t.Cols = append(t.Cols, tables.Column{Name: "weight", Title: "Weight", UCUM: "1", Decimals: 2, About: "How much the point counts; the largest weight is 1."})
	}
	everyone := make([]int, len(r.pile.units))
	for u := range everyone {
		everyone[u] = u
	}
	for j, point := range r.pile.points {
		t.RowText = append(t.RowText, tables.PointName(r.pile.c.Points()[point]))
		var row []tables.Cell
		for _, s := range r.Sets {
			row = append(row, number(s.ByPoint[j].SpreadPct))
		}
		row = append(row, number(r.pile.spread(everyone, j)))
		if r.pile.weighted() {
			row = append(row, number(r.pile.weight[j]))
		}
		t.Cells = append(t.Cells, row)
	}
	return t
}

// membersTable shows by how much each member is off its set's mean at each point.
func (r Result) membersTable(s Set) tables.Table {
	t := tables.Table{
		Name: "match_" + strings.ReplaceAll(s.Name, " ", "_"), Title: "Members of " + s.Name, Corner: "injector",
		About: "Delivered fuel of each member in per cent from the mean of the set, with the 95 % interval of the reading.",
		Row:   injectorColumn,
	}
	for _, point := range r.pile.points {
		name := tables.PointName(r.pile.c.Points()[point])
		t.Cols = append(t.Cols, percent(name, name, "Per cent from the mean of the set."))
	}
	means := make([]float64, len(r.pile.points))
	for j := range means {
		means[j] = r.pile.mean(s.units, j)
	}
	for k, u := range s.units {
		t.RowText = append(t.RowText, s.Injectors[k])
		var row []tables.Cell
		for j, mean := range means {
			row = append(row, tables.Cell{Value: r.pile.deviation(u, j, mean), CI95: 196 * r.pile.noise[u][j], Basis: diag.Measured})
		}
		t.Cells = append(t.Cells, row)
	}
	return t
}

// mean is that of units at a column, in the unit of their logarithms.
func (p *pile) mean(units []int, column int) float64 {
	sum := 0.0
	for _, u := range units {
		sum += math.Exp(p.log[u][column])
	}
	return sum / float64(len(units))
}

// deviation is how far unit u is from a mean at a column, in per cent.
func (p *pile) deviation(u, column int, mean float64) float64 {
	return 100 * (math.Exp(p.log[u][column])/mean - 1)
}

func (r Result) seatsTable() tables.Table {
	t := tables.Table{
		Name: "match_seats", Title: "Seats", Corner: "cylinder",
		About: "Which injector sits where, so that the banks get the same on average and cylinders that fire one after the other nearly the same.",
		Row:   text("cylinder", "Cylinder", "Number of the cylinder."),
		Cols: []tables.Column{
			text("set", "Set", "Name of the set."), injectorColumn,
			text("bank", "Bank", "Bank of the cylinder, as given."),
		},
	}
	for _, s := range r.Sets {
		for _, seat := range s.Seats {
			t.RowText = append(t.RowText, fmt.Sprint(seat.Cylinder))
			t.Cells = append(t.Cells, []tables.Cell{{Text: s.Name}, {Text: seat.Injector}, {Text: fmt.Sprint(seat.Bank)}})
		}
	}
	return t
}

func (r Result) sparesTable() tables.Table {
	t := tables.Table{
		Name: "match_spares", Title: "Spares", Corner: "injector",
		About: "Injectors left that fit a set best. Whichever member fails, the set with the spare in its place spreads no more than this.",
		Row:   injectorColumn,
		Cols: []tables.Column{
			text("set", "Set", "The set that the spare is for."),
			percent("spread_pct", "Spread with it", "Worst spread of the set and the spare together."),
		},
	}
	for _, s := range r.Sets {
		for _, f := range s.Spares {
			t.RowText = append(t.RowText, f.Injector)
			t.Cells = append(t.Cells, []tables.Cell{{Text: s.Name}, number(f.SpreadPct)})
		}
	}
	return t
}

func (r Result) replacementsTable() tables.Table {
	t := tables.Table{
		Name: "match_replacements", Title: "In place of injector " + r.pile.Replace, Corner: "injector",
		About: "The injectors that fit the rest of the set best, the best first.",
		Row:   injectorColumn,
		Cols:  []tables.Column{percent("spread_pct", "Spread with it", "Worst spread of the set with it.")},
	}
	for _, f := range r.Replacements {
		t.RowText = append(t.RowText, f.Injector)
		t.Cells = append(t.Cells, []tables.Cell{number(f.SpreadPct)})
	}
	return t
}

func (r Result) leftOutTable() tables.Table {
	t := tables.Table{
		Name: "match_left_out", Title: "Left out", Corner: "injector",
		About: "The injectors in no set, with the reason.",
		Row:   injectorColumn,
		Cols:  []tables.Column{text("reason", "Reason", "Why it is in no set.")},
	}
	for _, l := range r.LeftOut {
		t.RowText = append(t.RowText, l.Injector)
		t.Cells = append(t.Cells, []tables.Cell{{Text: l.Reason}})
	}
	return t
}

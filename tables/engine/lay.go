package engine

import (
	"fmt"
	"slices"
	"strings"

	"injtab/fit/diag"
	"injtab/tables"
)

// An axis is one side of a grid.
type axis struct {
	tables.Column
	at []float64
}

// grid lays a quantity out over two axes; a nil cell is one the engine can't have.
func grid(name, title, about string, rows, cols axis, decimals int, cell func(row, col float64) *float64) tables.Table {
	t := tables.Table{
		Name: name, Title: title, About: about, Corner: rows.Name + `\` + cols.Name,
		Row: rows.Column, RowAt: rows.at, Across: cols.Column,
	}
	for _, c := range cols.at {
		t.Cols = append(t.Cols, tables.Column{
			Name: digits(c), Title: digits(c) + " " + cols.Unit, At: c, Decimals: decimals,
		})
	}
	for _, r := range rows.at {
		line := make([]tables.Cell, len(cols.at))
		for j, c := range cols.at {
			line[j] = computed(cell(r, c))
		}
		t.Cells = append(t.Cells, line)
	}
	return t
}

// computed is a cell worked out from figures that nobody measured at that point.
func computed(x *float64) tables.Cell {
	if x == nil {
		return tables.Cell{Basis: diag.Assumed, Status: diag.DoesNotOpen}
	}
	return tables.Cell{Value: *x, Basis: diag.Assumed}
}

// lines draws a grid: one line for each column, over the rows.
func lines(t tables.Table, y tables.Scale, alt string) tables.Chart {
	c := tables.Chart{
		Name: t.Name, Title: t.Title, Alt: alt, Y: y,
		X: tables.Scale{Title: t.Row.Title, Unit: t.Row.Unit},
	}
	for j, col := range t.Cols {
		s := tables.Series{Name: col.Title, Kind: tables.Line}
		for i, x := range t.RowAt {
			if cell := t.Cells[i][j]; cell.Status.HasValue() {
				s.X, s.Y = append(s.X, x), append(s.Y, cell.Value)
			}
		}
		if len(s.X) > 0 {
			c.Series = append(c.Series, s)
		}
	}
	return c
}

// words is a table of texts: a name in each row, then one text a column.
func words(name, title, about string, header []string, rows [][]string) tables.Table {
	t := tables.Table{Name: name, Title: title, About: about, Corner: header[0], Row: textColumn(header[0])}
	for _, h := range header[1:] {
		t.Cols = append(t.Cols, textColumn(h))
	}
	for _, row := range rows {
		t.RowText = append(t.RowText, row[0])
		line := make([]tables.Cell, 0, len(row)-1)
		for _, text := range row[1:] {
			line = append(line, tables.Cell{Text: text, Basis: diag.Assumed})
		}
		t.Cells = append(t.Cells, line)
	}
	return t
}

func textColumn(name string) tables.Column {
	return tables.Column{Name: name, Title: tables.Capital(name), Text: true}
}

// defaultsTable lists what was assumed.
func defaultsTable(defaults []Default) tables.Table {
	rows := make([][]string, len(defaults))
	for i, d := range defaults {
		rows[i] = []string{d.Name, d.Value, d.Source}
	}
	return words("assumed", "Figures that were not given", "Give your own by the name in the first column: in the engine file, or as a flag.",
		[]string{"input", "value used", "source"}, rows)
}

// idleTable is the low end in words.
func idleTable(i Idle) tables.Table {
	judged := "yes"
	if i.TooBig {
		judged = "no: too big"
	}
	return words("idle", "The low end", "What the injector must do at idle, against the shortest pulse it is linear at.", []string{"at idle", "value"}, [][]string{
		{"speed", fmt.Sprintf("%.0f rpm", i.RPM)},
		{"fuel per pulse", fmt.Sprintf("%.3g mg", i.FuelPerPulse)},
		{"pulse", fmt.Sprintf("%.3g ms", i.Pulse)},
		{"shortest linear pulse", fmt.Sprintf("%.3g ms, %.3g mg", i.LinearFrom, i.SmallestFuel)},
		{"idles on its straight line", judged},
		{"largest flow that would", fmt.Sprintf("%.4g ml/min", i.LargestFlow)},
		{"turndown needed", fmt.Sprintf("%.3g", i.TurndownNeeded)},
		{"turndown of the injector", fmt.Sprintf("%.3g", i.TurndownLinear)},
	})
}

// aside marks a table that the answer does not need.
func aside(t tables.Table) tables.Table {
	t.Aside = true
	return t
}

// withStep adds to what is said of a table why it steps where boost begins.
func withStep(about, step string) string { return strings.TrimSpace(about + " " + step) }

// defaultsFact is what was assumed, in few words; defaultsTable has the sources.
func defaultsFact(defaults []Default) tables.Fact {
	list := make([]string, len(defaults))
	for i, d := range defaults {
		list[i] = strings.ReplaceAll(d.Name, "_", " ") + " " + d.Value
	}
	return tables.Fact{Name: "Assumed", Value: strings.Join(list, "; ")}
}

// sorted lists the distinct values that pick finds in cells.
func sorted[C any](cells []C, pick func(C) float64) []float64 {
	out := make([]float64, len(cells))
	for i, c := range cells {
		out[i] = pick(c)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// cautions belong under every answer.
func cautions() []string {
	return []string{
		"These are starting points: verify the mixture with a wideband sensor and listen for knock; start rich and at low boost. A lean cylinder under boost destroys an engine.",
		"Emissions and road-use law, local fire codes and a licensed tuner's judgement come first.",
	}
}
